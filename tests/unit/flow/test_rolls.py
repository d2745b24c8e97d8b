"""What people do with rolls, asked of the bridge."""

from pathlib import Path
from typing import Any

import pytest

from tests.unit.flow.bench import BANNER, Bench, status_jmf
from ticketbridge.decide.estimate.roll import diameter_of
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.asked.rolls import difference_percent
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.job import WAITS_FOR_ROLL
from ticketbridge.model.request import Reply, Request, Wish
from ticketbridge.model.stock import StockRoll
from ticketbridge.model.substrate import Flaw

LANE = "HL-P1-A"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def ask(bridge: Bridge, wish: Wish, **args: Any) -> Reply:
    return answer(bridge, Request(wish, "op-07", args), f"{wish} {sorted(args.items())}")


def codes(reply: Reply) -> list[str]:
    return [finding.code for finding in reply.findings]


def only(bridge: Bridge, lot: str) -> StockRoll:
    with bridge.store.transaction() as tx:
        [one] = tx.rolls_of_lot(lot)
    return one


def history(bridge: Bridge) -> list[tuple[str, str]]:
    with bridge.store.transaction() as tx:
        rows = tx._connection.exec_driver_sql("SELECT what, who FROM event WHERE who = 'op-07' ORDER BY seq")
        return [(row.what, row.who) for row in rows]


def test_a_received_roll_stands_on_the_shelf_and_history_says_who_booked_it_in(bridge: Bridge) -> None:
    reply = ask(bridge, Wish.ROLL_RECEIVE, substrate="BAN510", lot="N-1", width_mm=1600, length_m=50)

    assert codes(reply) == ["rolls.received", "lanes.roll-heavy"]
    assert (only(bridge, "N-1").place, only(bridge, "N-1").roll.length_left_m) == ("shelf", 50)
    assert history(bridge) == [("roll received", "op-07")]


def test_the_same_request_again_receives_no_second_roll(bridge: Bridge) -> None:
    wish = {"substrate": "FLAG115", "lot": "N-1", "width_mm": 1600, "length_m": 50}
    replies = [ask(bridge, Wish.ROLL_RECEIVE, **wish) for _ in range(2)]

    assert [codes(reply) for reply in replies] == [["rolls.received"], ["rolls.asked-before"]]
    assert only(bridge, "N-1").roll.number == 1


def test_a_second_roll_of_a_lot_gets_the_next_number_and_must_be_named_by_it(bridge: Bridge) -> None:
    wish = {"substrate": "FLAG115", "lot": "F115-0630", "width_mm": 1600, "length_m": 50}
    assert ask(bridge, Wish.ROLL_RECEIVE, **wish).findings[0].facts["number"] == 2

    assert codes(ask(bridge, Wish.ROLL_CHANGE, lot="F115-0630", lane=LANE)) == ["rolls.which"]
    assert ask(bridge, Wish.ROLL_CHANGE, lot="F115-0630", number=2, lane=LANE).done


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"substrate": "NOTHING"}, "rolls.substrate-unknown"),
        ({"width_mm": 0}, "rolls.value-unfit"),
        ({"length_m": float("nan")}, "rolls.value-unfit"),
        ({"core_outside_mm": -1}, "rolls.value-unfit"),
    ],
)
def test_a_roll_that_cannot_be_is_not_received(bridge: Bridge, change: dict[str, Any], code: str) -> None:
    wish = {"substrate": "BAN510", "lot": "N-1", "width_mm": 1600, "length_m": 50} | change

    assert codes(ask(bridge, Wish.ROLL_RECEIVE, **wish)) == [code]
    with bridge.store.transaction() as tx:
        assert tx.rolls_of_lot("N-1") == []


def test_an_unusual_width_is_received_with_a_warning(bridge: Bridge) -> None:
    reply = ask(bridge, Wish.ROLL_RECEIVE, substrate="FLAG115", lot="N-1", width_mm=1234, length_m=9)

    assert (reply.done, codes(reply)) == (True, ["rolls.received", "rolls.width-unusual"])


def test_a_roll_is_taken_off_and_another_put_on_and_the_mis_hears_of_it(bench: Bench, bridge: Bridge) -> None:
    assert codes(ask(bridge, Wish.ROLL_LOAD, lot="V-5120", lane=LANE)) == ["rolls.lane-taken"]
    assert codes(ask(bridge, Wish.ROLL_UNLOAD, lane=LANE)) == ["rolls.unloaded", "lanes.roll-heavy"]
    assert ask(bridge, Wish.ROLL_LOAD, lot="V-5120", lane=LANE, again=1).done

    assert (only(bridge, "B510-2207").place, only(bridge, "V-5120").place) == ("shelf", LANE)
    assert history(bridge) == [("roll unloaded", "op-07"), ("roll loaded", "op-07")]
    with bridge.store.transaction() as tx:
        [told] = [message.body for message in tx.unsent("mis.folder", 0, 1000)]
    assert b'Type="Resource"' in told
    assert b'BatchID="V-5120"' in told


def test_a_change_does_both_at_once_and_the_old_roll_may_be_gone(bridge: Bridge) -> None:
    assert ask(bridge, Wish.ROLL_CHANGE, lot="B510-2208", lane=LANE, gone=True).done

    assert (only(bridge, "B510-2207").place, only(bridge, "B510-2208").place) == ("gone", LANE)
    assert codes(ask(bridge, Wish.ROLL_CHANGE, lot="B510-2207", lane=LANE)) == ["rolls.gone"]


def test_a_change_that_cannot_be_leaves_the_old_roll_on(bridge: Bridge) -> None:
    assert codes(ask(bridge, Wish.ROLL_CHANGE, lot="B510-2212", lane=LANE)) == ["rolls.too-wide"]
    assert codes(ask(bridge, Wish.ROLL_CHANGE, lot="C380-0915", lane=LANE)) == ["rolls.elsewhere"]

    assert only(bridge, "B510-2207").place == LANE
    assert history(bridge) == []


@pytest.mark.parametrize(
    ("wish", "args", "code"),
    [
        (Wish.ROLL_LOAD, {"lot": "V-5120", "lane": "HL-P9"}, "rolls.lane-unknown"),
        (Wish.ROLL_LOAD, {"lot": "X", "lane": LANE}, "rolls.unknown"),
        (Wish.ROLL_MEASURE, {"lot": "V-5120", "diameter_mm": 80}, "rolls.diameter-below-core"),
        (Wish.ROLL_FLAW, {"lot": "V-5120", "at_m": 50.5}, "rolls.flaw-beyond"),
        (Wish.ROLL_FLAW, {"lot": "V-5120", "at_m": -1}, "rolls.value-unfit"),
    ],
)
def test_what_cannot_be_is_refused_by_name(
    bridge: Bridge, wish: Wish, args: dict[str, Any], code: str
) -> None:
    reply = ask(bridge, wish, **args)

    assert (reply.done, codes(reply)) == (False, [code])


def test_an_empty_lane_has_nothing_to_unload(bridge: Bridge) -> None:
    ask(bridge, Wish.ROLL_UNLOAD, lane=LANE)

    assert codes(ask(bridge, Wish.ROLL_UNLOAD, lane=LANE, again=1)) == ["rolls.lane-empty"]


def test_a_received_roll_gives_a_job_that_waited_for_one_its_lane(bench: Bench, bridge: Bridge) -> None:
    with bridge.store.transaction() as tx:
        for one in tx.stock():
            if one.roll.substrate == "BAN510":
                tx.load_roll("away", one.roll, bridge.now())
                tx.take_off("away", bridge.now(), gone=True)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        assert tx.standing("Q000001").status_details == WAITS_FOR_ROLL

    ask(bridge, Wish.ROLL_RECEIVE, substrate="BAN510", lot="N-1", width_mm=1600, length_m=50)

    with bridge.store.transaction() as tx:
        job = tx.job("Q000001")
        assert (job.roll and job.roll.lot, tx.standing("Q000001").status_details) == ("N-1", "QueuedToRun")


def test_a_measurement_near_the_account_says_so_and_changes_nothing(bridge: Bridge) -> None:
    roll = only(bridge, "V-5120").roll
    across = diameter_of(roll, bridge.shop.substrates["VINYL-WHITE"])
    reply = ask(bridge, Wish.ROLL_MEASURE, lot="V-5120", diameter_mm=across)

    assert codes(reply) == ["rolls.measured"]
    assert reply.findings[0].facts["measured_m"] == pytest.approx(50)
    assert (only(bridge, "V-5120").roll, only(bridge, "V-5120").measured_diameter_mm) == (roll, across)


def test_a_measurement_far_from_the_account_is_a_finding_and_a_person_decides(bridge: Bridge) -> None:
    substrate = bridge.shop.substrates["VINYL-WHITE"]
    shorter = only(bridge, "V-5120").roll.model_copy(update={"length_left_m": 40.0})
    across = diameter_of(shorter, substrate)
    reply = ask(bridge, Wish.ROLL_MEASURE, lot="V-5120", diameter_mm=across)

    assert (reply.done, codes(reply)) == (True, ["rolls.account-differs"])
    assert reply.findings[0].facts["difference_percent"] == pytest.approx(20)
    assert only(bridge, "V-5120").roll.length_left_m == 50

    taken = ask(bridge, Wish.ROLL_MEASURE, lot="V-5120", diameter_mm=across, take_measured=True)
    assert codes(taken) == ["rolls.account-taken"]
    assert only(bridge, "V-5120").roll.length_left_m == pytest.approx(40)
    assert history(bridge)[-1] == ("roll account corrected", "op-07")


def test_a_core_of_its_own_counts_when_a_roll_is_measured(bridge: Bridge) -> None:
    wish = {
        "substrate": "VINYL-WHITE",
        "lot": "N-1",
        "width_mm": 1372,
        "length_m": 50,
        "core_outside_mm": 150,
    }
    ask(bridge, Wish.ROLL_RECEIVE, **wish)
    reply = ask(bridge, Wish.ROLL_MEASURE, lot="N-1", diameter_mm=140)

    assert codes(reply) == ["rolls.diameter-below-core"]


def test_a_roll_in_print_is_charged_before_it_is_measured(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    for amount in (0, 1):
        said = status_jmf(LANE, ("HL-24117", "1.Q000001"), "InProgress", amount, 3, f"S{amount}")
        bench.press_says(bridge, LANE, f"{amount}.jmf", said)
    with bridge.store.transaction() as tx:
        used_m = tx.standing("Q000001").roll_length_mm / 1000 / 3
    reply = ask(bridge, Wish.ROLL_MEASURE, lot="B510-2207", diameter_mm=194)

    assert reply.findings[0].facts["account_m"] == pytest.approx(50 - used_m)


def test_splices_and_flaws_are_kept_in_the_order_they_come(bridge: Bridge) -> None:
    ask(bridge, Wish.ROLL_FLAW, lot="V-5120", at_m=12.5)
    ask(bridge, Wish.ROLL_FLAW, lot="V-5120", at_m=3, length_mm=80, what="crease")

    assert only(bridge, "V-5120").roll.flaws == (
        Flaw(at_mm=3000, length_mm=80, what="crease"),
        Flaw(at_mm=12500, length_mm=0, what="splice"),
    )


def test_a_difference_is_a_share_of_the_longer_one() -> None:
    assert (difference_percent(40, 50), difference_percent(50, 40), difference_percent(0, 0)) == (20, 20, 0)
