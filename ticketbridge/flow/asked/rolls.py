"""What people do with rolls, asked by command: receive, load, take off, change, measure, note what is flawed.

Each wish is checked and done in one transaction with its history and the messages about it.
"""

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

from ticketbridge.decide.estimate.roll import core_outside_mm, length_by_diameter_m, lifting_caution
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.keep.rescue import judge_again
from ticketbridge.flow.roll_account import report_roll, settle
from ticketbridge.model.codes import refuses
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, type_of_fact
from ticketbridge.model.request import Request, Wish
from ticketbridge.model.stock import StockRoll, Whereabouts
from ticketbridge.model.substrate import SPLICE, Flaw, Roll
from ticketbridge.store.transaction import Transaction

Facts = dict[str, type_of_fact]


class Refused(Exception):
    """The wish cannot be done; nothing was changed."""

    def __init__(self, code: str, **facts: type_of_fact) -> None:
        super().__init__(code)
        self.finding = Finding(code, facts=facts)


def answer_about_rolls(bridge: Bridge, request: Request, request_id: str) -> tuple[Finding, ...]:
    """Do what is asked of the stock, or say why not. Jobs that waited for a roll are judged again."""
    try:
        with bridge.store.transaction() as tx:
            if not tx.is_new_message("request", request_id, bridge.now()):
                return (Finding("rolls.asked-before"),)
            findings = DEEDS[request.wish](bridge, tx, request)
    except Refused as refused:
        return (refused.finding,)
    if not refuses(findings):
        judge_again(bridge)
    return findings


def _receive(bridge: Bridge, tx: Transaction, request: Request) -> tuple[Finding, ...]:
    args = request.args
    substrate = bridge.shop.substrates.get(str(args["substrate"]))
    if substrate is None:
        raise Refused("rolls.substrate-unknown", substrate=str(args["substrate"]))
    core = args.get("core_outside_mm")
    lot = str(args["lot"])
    roll = Roll(
        substrate=substrate.id,
        lot=lot,
        number=tx.next_roll_number(lot),
        width_mm=_positive(args, "width_mm"),
        length_left_m=_positive(args, "length_m"),
        core_outside_mm=None if core is None else _positive(args, "core_outside_mm"),
    )
    tx.receive_roll(roll, bridge.now())
    tx.tell(Event("roll received", bridge.now(), who=request.who, facts=roll.summary()))
    facts: Facts = {
        **_named(roll),
        "substrate": substrate.name,
        "width_mm": roll.width_mm,
        "length_m": roll.length_left_m,
    }
    findings = [Finding("rolls.received", facts=facts)]
    if roll.width_mm not in substrate.widths_mm:
        widths = ", ".join(f"{width:g}" for width in substrate.widths_mm)
        unusual: Facts = {"substrate": substrate.name, "widths_mm": widths, "width_mm": roll.width_mm}
        findings.append(Finding("rolls.width-unusual", facts=unusual))
    return (*findings, *_caution(bridge, roll))


def _load(bridge: Bridge, tx: Transaction, request: Request) -> tuple[Finding, ...]:
    device_id = _lane(bridge, request)
    wanted = _roll(tx, request).roll
    there = tx.roll_on(device_id)
    if there is not None:
        loaded = f"{there.roll.number} of lot {there.roll.lot}"
        raise Refused("rolls.lane-taken", loaded=loaded, device_id=device_id, lot=wanted.lot)
    return _put_on(bridge, tx, request, device_id)


def _change(bridge: Bridge, tx: Transaction, request: Request) -> tuple[Finding, ...]:
    device_id = _lane(bridge, request)
    if _roll(tx, request).device_id == device_id:
        raise Refused("rolls.elsewhere", **_named(_roll(tx, request).roll), place=device_id)
    off = _take_off(bridge, tx, request, device_id) if tx.roll_on(device_id) else ()
    return (*off, *_put_on(bridge, tx, request, device_id))


def _unload(bridge: Bridge, tx: Transaction, request: Request) -> tuple[Finding, ...]:
    device_id = _lane(bridge, request)
    if tx.roll_on(device_id) is None:
        raise Refused("rolls.lane-empty", device_id=device_id)
    return _take_off(bridge, tx, request, device_id)


def _put_on(bridge: Bridge, tx: Transaction, request: Request, device_id: str) -> tuple[Finding, ...]:
    stock = _roll(tx, request)
    roll, lane = stock.roll, bridge.lanes[device_id][1]
    if stock.where is Whereabouts.GONE:
        raise Refused("rolls.gone", **_named(roll))
    if stock.device_id is not None:
        raise Refused("rolls.elsewhere", **_named(roll), place=stock.device_id)
    if roll.width_mm > lane.width_mm:
        raise Refused("rolls.too-wide", width_mm=roll.width_mm, device_id=device_id, lane_mm=lane.width_mm)
    tx.load_roll(device_id, roll, bridge.now())
    facts = roll.summary() | {"device_id": device_id}
    tx.tell(Event("roll loaded", bridge.now(), who=request.who, facts=facts))
    report_roll(bridge, tx, device_id)
    loaded = _named(roll) | {"device_id": device_id, "length_m": roll.length_left_m}
    return (Finding("rolls.loaded", facts=loaded), *_caution(bridge, roll))


def _take_off(bridge: Bridge, tx: Transaction, request: Request, device_id: str) -> tuple[Finding, ...]:
    settle(bridge, tx, device_id)
    there = tx.roll_on(device_id)
    assert there is not None  # noqa: S101  the caller has looked
    tx.take_off(device_id, bridge.now(), gone=bool(request.args.get("gone")))
    [off] = [one for one in tx.rolls_of_lot(there.roll.lot) if one.roll.identity == there.roll.identity]
    facts = off.roll.summary() | {"device_id": device_id, "place": off.place}
    tx.tell(Event("roll unloaded", bridge.now(), who=request.who, facts=facts))
    place = "on the shelf" if off.where is Whereabouts.SHELF else "gone"
    unloaded = Finding("rolls.unloaded", facts=_named(off.roll) | {"device_id": device_id, "place": place})
    return (unloaded, *_caution(bridge, off.roll))


def _measure(bridge: Bridge, tx: Transaction, request: Request) -> tuple[Finding, ...]:
    stock = _brought_up_to_now(bridge, tx, request)
    roll, now = stock.roll, bridge.now()
    substrate = bridge.shop.substrates.get(roll.substrate)
    if substrate is None:
        raise Refused("rolls.substrate-unknown", substrate=roll.substrate)
    diameter = _positive(request.args, "diameter_mm")
    if diameter <= core_outside_mm(roll, substrate):
        core = core_outside_mm(roll, substrate)
        raise Refused("rolls.diameter-below-core", diameter_mm=diameter, core_mm=core)
    measured = length_by_diameter_m(roll, substrate, diameter)
    tx.note_diameter(roll, diameter, now)
    facts = _named(roll) | {
        "diameter_mm": diameter,
        "measured_m": measured,
        "account_m": roll.length_left_m,
    }
    tx.tell(Event("roll measured", now, who=request.who, facts=facts))
    if request.args.get("take_measured"):
        tx.correct_roll(roll.model_copy(update={"length_left_m": measured}), now)
        tx.tell(Event("roll account corrected", now, who=request.who, facts=facts))
        if stock.device_id is not None:
            report_roll(bridge, tx, stock.device_id)
        return (Finding("rolls.account-taken", facts=facts),)
    difference = difference_percent(measured, roll.length_left_m)
    allowed = bridge.shop.settings.roll_difference_percent
    if difference <= allowed:
        return (Finding("rolls.measured", facts=facts),)
    doubt = facts | {"difference_percent": difference, "allowed_percent": allowed}
    return (Finding("rolls.account-differs", facts=doubt),)


def difference_percent(one_m: float, other_m: float) -> float:
    """How far two lengths lie apart, as a share of the longer one in per cent: 0 to 100."""
    longer = max(one_m, other_m)
    return 100 * abs(one_m - other_m) / longer if longer else 0.0


def _flaw(bridge: Bridge, tx: Transaction, request: Request) -> tuple[Finding, ...]:
    roll = _brought_up_to_now(bridge, tx, request).roll
    at_m = _number(request.args, "at_m", least=0.0)
    if at_m > roll.length_left_m:
        raise Refused("rolls.flaw-beyond", at_m=at_m, length_m=roll.length_left_m)
    flaw = Flaw(
        at_mm=at_m * 1000,
        length_mm=_number({"length_mm": 0, **request.args}, "length_mm", least=0.0),
        what=str(request.args.get("what") or SPLICE),
    )
    flaws = tuple(sorted((*roll.flaws, flaw), key=lambda one: one.at_mm))
    tx.correct_roll(roll.model_copy(update={"flaws": flaws}), bridge.now())
    facts = _named(roll) | {"what": flaw.what, "at_m": at_m, "length_mm": flaw.length_mm}
    tx.tell(Event("roll flaw noted", bridge.now(), who=request.who, facts=facts))
    return (Finding("rolls.flaw-noted", facts=facts),)


def _brought_up_to_now(bridge: Bridge, tx: Transaction, request: Request) -> StockRoll:
    """The roll asked for; one that prints is charged first, so that account and outer end are today's."""
    stock = _roll(tx, request)
    if stock.device_id is None:
        return stock
    settle(bridge, tx, stock.device_id)
    return _roll(tx, request)


def _roll(tx: Transaction, request: Request) -> StockRoll:
    """The roll asked for by its lot and, where the lot has several, its number."""
    lot, number = str(request.args["lot"]), request.args.get("number")
    rolls = tx.rolls_of_lot(lot)
    if number is not None:
        rolls = [one for one in rolls if one.roll.number == int(number)]
    there = [one for one in rolls if one.where is not Whereabouts.GONE]
    if not rolls:
        raise Refused("rolls.unknown", lot=lot)
    if not there:
        raise Refused("rolls.gone", **_named(rolls[-1].roll))
    if len(there) > 1:
        raise Refused("rolls.which", lot=lot, numbers=", ".join(str(one.roll.number) for one in there))
    return there[0]


def _lane(bridge: Bridge, request: Request) -> str:
    device_id = str(request.args["lane"])
    if device_id not in bridge.lanes:
        raise Refused("rolls.lane-unknown", device_id=device_id, known=", ".join(sorted(bridge.lanes)))
    return device_id


def _positive(args: Mapping[str, Any], name: str) -> float:
    value = _number(args, name, least=0.0)
    if value == 0:
        raise Refused("rolls.value-unfit", name=name, value=0)
    return value


def _number(args: Mapping[str, Any], name: str, *, least: float) -> float:
    value = float(args[name])
    if not math.isfinite(value) or value < least:
        raise Refused("rolls.value-unfit", name=name, value=str(value))
    return value


def _named(roll: Roll) -> Facts:
    return {"lot": roll.lot, "number": roll.number}


def _caution(bridge: Bridge, roll: Roll) -> tuple[Finding, ...]:
    """What to mind when the roll is lifted, where it is heavy."""
    substrate = bridge.shop.substrates.get(roll.substrate)
    if substrate is None:
        return ()
    caution = lifting_caution(roll, substrate, bridge.shop.settings.lifting_limit_kg)
    return (caution,) if caution else ()


DEEDS: Final[Mapping[Wish, Callable[[Bridge, Transaction, Request], tuple[Finding, ...]]]] = {
    Wish.ROLL_RECEIVE: _receive,
    Wish.ROLL_LOAD: _load,
    Wish.ROLL_UNLOAD: _unload,
    Wish.ROLL_CHANGE: _change,
    Wish.ROLL_MEASURE: _measure,
    Wish.ROLL_FLAW: _flaw,
}

ROLL_WISHES: Final = frozenset(DEEDS)
"""Wishes that concern the stock."""
