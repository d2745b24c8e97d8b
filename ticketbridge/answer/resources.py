"""Answers about resources: rolls and inks as they are at the lanes, what entries are to take and what they took."""

from collections.abc import Iterator, Mapping
from typing import Final

from ticketbridge.answer.messages import Message
from ticketbridge.answer.world import LaneNow, RollNow, Taking, World
from ticketbridge.jdf.message_parts import add_inks, ink_info
from ticketbridge.jdf.writing import Element, child, clean
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.units import number

KINDS: Final = ("Media", "Ink")
"""``ResourceInfo@ResourceName`` of what the bridge knows of."""
OF_JOBS: Final = ("Job", "Estimate")
"""``ResourceQuParams@Scope`` of what entries take."""
UNITS: Final[Mapping[str, str]] = {"Media": "m2", "Ink": "l"}
PART_KEYS: Final[Mapping[str, str]] = {"Media": "LotID", "Ink": "Separation"}


def asked_scopes(said: Element | None) -> frozenset[str]:
    """The scopes that a query asks for: the one that it names, or what fits what it names.

    A query that names a job and no scope asks for all of that job; one that names neither, for what is there
    (from memory: the standard leaves it to the device).
    """
    scope = None if said is None else said.get("Scope")
    if scope is not None:
        return frozenset({scope})
    names_a_job = said is not None and (said.get("JobID") or said.get("QueueEntryID"))
    return frozenset(OF_JOBS) if names_a_job else frozenset({"Device"})


def resources(message: Message, world: World) -> list[Element]:
    """A ResourceInfo for each thing that the query asks for."""
    said = message.element.find(jdf("ResourceQuParams"))
    names = said.get("ResourceName") if said is not None else None
    kinds = KINDS if names is None else [kind for kind in KINDS if kind in names.split()]
    scopes = asked_scopes(said)
    infos = [info for kind in kinds for info in _infos(kind, scopes, world)]
    for place, info in enumerate(infos):
        info[-1].set("ID", f"resource-{place}")
    return infos


def _infos(kind: str, scopes: frozenset[str], world: World) -> Iterator[Element]:
    if scopes & {"Device", "Allowed", "Present"}:
        for lane in world.lanes:
            yield from _at_lane(kind, lane)
    if kind == "Media" and scopes & {"Device", "Allowed"}:
        for roll in world.shelf:
            yield _roll(roll, None)
    for taking in world.takings:
        if "Estimate" in scopes:
            yield _estimate(kind, taking)
        if "Job" in scopes and taking.used.get(kind):
            yield _used(kind, taking)


def _at_lane(kind: str, lane: LaneNow) -> Iterator[Element]:
    if kind == "Ink":
        for ink in lane.inks:
            yield ink_info(lane.device_id, ink)
    elif lane.roll is not None:
        yield _roll(lane.roll, lane.device_id)


def _info(kind: str, scope: str, device_id: str | None) -> Element:
    info = child(None, "ResourceInfo", ResourceName=kind, Usage="Input", Scope=scope, Unit=UNITS[kind])
    if device_id is not None:
        info.set("DeviceID", device_id)
    return info


def _roll(one: RollNow, device_id: str | None) -> Element:
    """A roll, on its lane or on the shelf, with its lot and the square metres left on it."""
    info = _info("Media", "Device" if device_id is None else "Present", device_id)
    info.set("Level", one.level)
    info.set("AvailableAmount", number(one.left_m2))
    if device_id is None:
        info.set("Location", "shelf")
    status = "Unavailable" if one.level == "Empty" else "Available"
    child(info, "Media", Class="Consumable", Status=status, BatchID=clean(one.roll.lot), **one.media)
    return info


def _estimate(kind: str, taking: Taking) -> Element:
    """What an entry is to take: square metres of the roll, all that it uses up included; litres of each ink."""
    info = _info(kind, "Estimate", taking.job.device_id)
    status = "Available" if kind == "Ink" or taking.has_roll else "Unavailable"
    if kind == "Media":
        info.set("Amount", number(taking.area_m2))
        child(info, "Media", Class="Consumable", Status=status, **taking.media)
        return info
    info.set("Amount", _litres(sum(taking.ink_ml.values())))
    pool = child(info, "AmountPool")
    for separation, amount_ml in taking.ink_ml.items():
        child(child(pool, "PartAmount", Amount=_litres(amount_ml)), "Part", Separation=separation)
    add_inks(info, status, taking.ink_ml)
    return info


def _used(kind: str, taking: Taking) -> Element:
    """What an entry has used so far, as its press said."""
    info = _info(kind, "Job", taking.job.device_id)
    uses = taking.used[kind]
    info.set("ActualAmount", number(sum(use.amount for use in uses)))
    pool = child(info, "AmountPool")
    for use in uses:
        part = child(child(pool, "PartAmount", ActualAmount=number(use.amount)), "Part")
        if use.which:
            part.set(PART_KEYS[kind], use.which)
        if use.condition:
            part.set("Condition", use.condition)
    if kind == "Media":
        child(info, "Media", Class="Consumable", Status="InUse", **taking.media)
    else:
        add_inks(info, "InUse", dict.fromkeys(use.which for use in uses if use.which))
    return info


def _litres(amount_ml: float) -> str:
    return number(amount_ml / 1000)
