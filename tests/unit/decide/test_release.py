"""Which waiting jobs may be handed to their lanes."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.model.lane_state import LaneState, RunningWork
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack, Roll

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
MakeShop = Callable[..., Shop]
SWIFT = RunningWork("swift", LayerStack.COLOUR, "banner-510")
FINE = RunningWork("fine", LayerStack.COLOUR, "banner-510")


def job(name: str, side: str = "left", **changes: Any) -> WaitingJob:
    values: dict[str, Any] = {
        "queue_entry_id": name,
        "device_id": f"tern-{side}",
        "priority": 50,
        "due": None,
        "number": int(name.strip("Q")),
        "print_mode": "swift",
        "layer_stack": LayerStack.COLOUR,
        "substrate": "banner-510",
    }
    return WaitingJob(**(values | changes))


def with_ahead(make_shop: MakeShop, ahead: int) -> Shop:
    return make_shop({f"presses.tern.lanes.{n}": _lane(make_shop, n, ahead) for n in range(3)})


def _lane(make_shop: MakeShop, number: int, ahead: int) -> dict[str, Any]:
    return make_shop().presses["tern"].lanes[number].model_dump() | {"ahead": ahead}


def test_a_free_lane_gets_its_first_job_and_no_more_than_one(shop: Shop) -> None:
    assert releases([job("Q2"), job("Q1")], {}, shop) == ("Q1",)


def test_a_lane_that_has_its_ticket_gets_no_other(shop: Shop) -> None:
    assert releases([job("Q1")], {"tern-left": LaneState(given=1)}, shop) == ()


def test_two_ahead_are_two(make_shop: MakeShop) -> None:
    shop = with_ahead(make_shop, 2)
    waiting = [job(f"Q{n}") for n in range(1, 5)]
    assert releases(waiting, {}, shop) == ("Q1", "Q2")
    assert releases(waiting, {"tern-left": LaneState(given=1)}, shop) == ("Q1",)


def test_zero_ahead_is_no_limit(make_shop: MakeShop) -> None:
    shop = with_ahead(make_shop, 0)
    waiting = [job(f"Q{n}") for n in range(1, 5)]
    assert releases(waiting, {"tern-left": LaneState(given=7)}, shop) == ("Q1", "Q2", "Q3", "Q4")


def test_higher_priority_goes_first_then_the_earlier_due_time_then_the_lower_number(
    make_shop: MakeShop,
) -> None:
    shop = with_ahead(make_shop, 0)
    waiting = [
        job("Q1"),
        job("Q2", due=NOON + timedelta(hours=5)),
        job("Q3", due=NOON),
        job("Q4", due=NOON),
        job("Q5", priority=60),
    ]
    assert releases(waiting, {}, shop) == ("Q5", "Q3", "Q4", "Q2", "Q1")


def test_due_times_are_compared_across_offsets(shop: Shop) -> None:
    later = job("Q1", due=datetime(2026, 3, 2, 12, 30, tzinfo=UTC))
    earlier = job("Q2", due=datetime(2026, 3, 2, 13, 0, tzinfo=timezone(timedelta(hours=1))))
    assert releases([later, earlier], {}, shop) == ("Q2",)


def test_jobs_that_agree_go_to_both_lanes_at_once(shop: Shop) -> None:
    assert releases([job("Q1"), job("Q2", "right")], {}, shop) == ("Q1", "Q2")


def test_a_job_in_another_mode_waits_for_what_runs_beside_it(shop: Shop) -> None:
    states = {"tern-right": LaneState(running=FINE, given=1)}
    assert releases([job("Q1")], states, shop) == ()


def test_a_job_waits_for_what_was_given_beside_it_though_it_does_not_run_yet(shop: Shop) -> None:
    states = {"tern-right": LaneState(given=1, given_work=(FINE,))}
    assert releases([job("Q1")], states, shop) == ()


def test_a_job_waits_for_what_is_given_beside_it_in_the_same_call(shop: Shop) -> None:
    assert releases([job("Q1"), job("Q2", "right", print_mode="fine")], {}, shop) == ("Q1",)


def test_substrates_that_differ_too_much_in_thickness_do_not_go_together(shop: Shop) -> None:
    thin = job("Q2", "right", substrate="canvas-340")  # 420 beside 500 um, 60 allowed
    assert releases([job("Q1"), thin], {}, shop) == ("Q1",)


def test_rolls_too_wide_for_each_other_do_not_go_together(make_shop: MakeShop) -> None:
    shop = make_shop({"presses.tern.side_by_side": {"gap_mm": 120}})
    roll = Roll(substrate="banner-510", lot="R", width_mm=1600, length_left_m=40)
    states = {"tern-left": LaneState(roll=roll), "tern-right": LaneState(roll=roll)}
    assert releases([job("Q1"), job("Q2", "right")], states, shop) == ("Q1",)


def test_overlapping_lanes_are_never_given_work_at_once(shop: Shop) -> None:
    assert releases([job("Q1"), job("Q2", "wide")], {}, shop) == ("Q1",)
    assert releases([job("Q1", "wide"), job("Q2")], {}, shop) == ("Q1",)


def test_nobody_overtakes_the_first_in_line_on_its_lane(shop: Shop) -> None:
    states = {"tern-right": LaneState(running=SWIFT, given=1)}
    first, second = job("Q1", print_mode="fine"), job("Q2")
    assert releases([first, second], states, shop) == ()


def test_the_lane_beside_cannot_keep_the_first_in_line_waiting_for_ever(make_shop: MakeShop) -> None:
    """Q1 waits for the swift work on the right; were Q2 released there, Q1 would wait for that too."""
    shop = with_ahead(make_shop, 2)
    waiting = [job("Q1", print_mode="fine"), job("Q2", "right")]
    states = {"tern-right": LaneState(running=SWIFT, given=1)}
    assert releases(waiting, states, shop) == ()
    assert releases(waiting, {"tern-right": LaneState()}, shop) == ("Q1",)


def test_what_agrees_with_the_one_that_waits_may_still_go(make_shop: MakeShop) -> None:
    shop = with_ahead(make_shop, 2)
    states = {"tern-right": LaneState(running=SWIFT, given=1)}
    waiting = [job("Q1", print_mode="fine"), job("Q2", "right", print_mode="fine")]
    assert releases(waiting, states, shop) == ("Q2",)


def test_an_urgent_job_beside_goes_before_the_one_that_waits(make_shop: MakeShop) -> None:
    shop = with_ahead(make_shop, 2)
    states = {"tern-right": LaneState(running=SWIFT, given=1)}
    waiting = [job("Q1", print_mode="fine"), job("Q2", "right", priority=90)]
    assert releases(waiting, states, shop) == ("Q2",)


def test_a_job_for_a_lane_that_is_no_longer_configured_stays(shop: Shop) -> None:
    assert releases([job("Q1", "gone")], {}, shop) == ()


def test_everything_waiting_is_handed_over_in_the_end(make_shop: MakeShop) -> None:
    """The lanes work off what they are given, one ticket each a round; nothing starves and nothing clashes."""
    shop = make_shop()
    modes = ("swift", "fine", "fine", "swift", "fine")
    waiting = {
        f"Q{n}": job(f"Q{n}", ("left", "right", "wide")[n % 3], print_mode=modes[n % 5]) for n in range(1, 61)
    }
    rounds = 0
    while waiting and rounds < 61:
        for name in releases(waiting.values(), {}, shop):
            del waiting[name]
        rounds += 1
    assert not waiting
