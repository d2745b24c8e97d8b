"""Rules about the other lanes under the same carriage."""

from collections.abc import Callable
from typing import Any

import pytest

from ticketbridge.decide.estimate.roll import diameter_of
from ticketbridge.decide.roll_choice import RollAt
from ticketbridge.decide.rules import LaneQuestion
from ticketbridge.decide.rules.neighbours import shaft, side_by_side
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.lane_state import RunningWork
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack, Roll
from ticketbridge.model.verdict import Answer, Verdict

Ask = Callable[..., LaneQuestion]


def spoken(verdict: Verdict) -> tuple[Answer, str]:
    """Answer and code; on the way it is seen that the facts fill the sentence and the remedy."""
    assert sentence(verdict.as_finding())
    assert remedy(verdict.as_finding())
    return verdict.answer, verdict.code


def roll(substrate: str = "banner-510", *, width_mm: float = 1600, length_left_m: float = 40) -> Roll:
    return Roll(substrate=substrate, lot="N-1", width_mm=width_mm, length_left_m=length_left_m)


def work(
    mode: str = "swift", stack: LayerStack = LayerStack.COLOUR, substrate: str = "banner-510"
) -> RunningWork:
    return RunningWork(mode, stack, substrate)


def test_beside_an_idle_lane_anything_can_print(ask: Ask) -> None:
    verdict = side_by_side(ask(beside=(roll("mesh-270"), None)))
    assert spoken(verdict) == (Answer.CAN, "lanes.beside-nothing-ok")


def test_the_same_mode_on_like_substrate_prints_side_by_side(ask: Ask) -> None:
    verdict = side_by_side(ask(beside=(roll(), work())))
    assert spoken(verdict) == (Answer.CAN, "lanes.beside-ok")
    assert verdict.facts == {"others": "tern-right"}


@pytest.mark.parametrize(
    ("running", "code"),
    [
        (work(mode="fine"), "lanes.beside-mode"),
        (work(stack=LayerStack.WHITE_COLOUR), "lanes.beside-layers"),
        (work(substrate="canvas-340"), "lanes.beside-thickness"),  # 420 beside 500 um
        (work(substrate="mesh-270"), "lanes.beside-underlay"),  # 450 um is near enough
        (work(substrate="gone"), "lanes.beside-unknown"),
    ],
)
def test_what_does_not_agree_waits_for_the_running_work(ask: Ask, running: RunningWork, code: str) -> None:
    verdict = side_by_side(ask(beside=(roll(running.substrate), running)))
    assert spoken(verdict) == (Answer.NOT_UNTIL, code)
    assert verdict.facts["other"] == "tern-right"


def test_the_tolerance_of_thickness_is_the_press_s_own(ask: Ask) -> None:
    running = work(substrate="canvas-340")
    settings = {"presses.tern.side_by_side": {"thickness_tolerance_um": 80}}
    assert side_by_side(ask(beside=(roll(), running), settings=settings)).answer is Answer.CAN


def test_two_rolls_and_the_gap_must_have_room_between_the_outer_edges_of_the_lanes(ask: Ask) -> None:
    wide_gap = {"presses.tern.side_by_side": {"gap_mm": 100}}
    assert side_by_side(ask(beside=(roll(), work()), settings=wide_gap)).answer is Answer.CAN
    wider_gap = {"presses.tern.side_by_side": {"gap_mm": 101}}
    verdict = side_by_side(ask(beside=(roll(), work()), settings=wider_gap))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.beside-width")
    assert (verdict.facts["needed_mm"], verdict.facts["room_mm"]) == (3301, 3300)


def test_a_lane_waits_while_the_wide_lane_over_it_prints(ask: Ask) -> None:
    verdict = side_by_side(ask(across=(roll(width_mm=3200), work())))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.beside-overlap")
    assert verdict.facts == {"other": "tern-wide"}


def test_the_roll_of_an_idle_wide_lane_must_come_off_first(ask: Ask) -> None:
    verdict = side_by_side(ask(across=(roll(width_mm=3200), None)))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.beside-roll-off")
    assert (verdict.minutes, verdict.facts["others"]) == (10, "tern-wide")


def test_a_roll_that_is_moved_over_from_the_wide_lane_is_not_counted_twice(ask: Ask) -> None:
    narrow = roll(width_mm=1600)
    verdict = side_by_side(ask(across=(narrow, None), roll=RollAt(narrow, "tern-wide")))
    assert spoken(verdict) == (Answer.CAN, "lanes.beside-nothing-ok")


def test_the_wide_lane_waits_for_the_narrow_ones(ask: Ask) -> None:
    verdict = side_by_side(ask("wide", beside=(roll(), work())))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.beside-overlap")


def test_side_by_side_waits_for_the_substrate(ask: Ask) -> None:
    assert spoken(side_by_side(ask(substrate=None))) == (Answer.NOT_UNTIL, "lanes.substrate-needed")


COMMON = {"presses.tern.shafts": "common"}


def test_rolls_on_separate_shafts_may_differ(ask: Ask) -> None:
    verdict = shaft(ask(beside=(roll(length_left_m=1), None)))
    assert spoken(verdict) == (Answer.CAN, "lanes.shaft-separate-ok")


def test_rolls_of_like_diameter_may_share_a_shaft(ask: Ask, shop: Shop) -> None:
    verdict = shaft(ask(beside=(roll(length_left_m=35), None), settings=COMMON))
    assert spoken(verdict) == (Answer.CAN, "lanes.shaft-ok")
    banner = shop.substrates["banner-510"]
    difference = diameter_of(roll(length_left_m=40), banner) - diameter_of(roll(length_left_m=35), banner)
    assert verdict.facts == {"difference_mm": pytest.approx(difference), "tolerance_mm": 30}


def test_a_roll_alone_on_the_shaft_differs_from_none(ask: Ask) -> None:
    verdict = shaft(ask(settings=COMMON))
    assert spoken(verdict) == (Answer.CAN, "lanes.shaft-ok")
    assert verdict.facts["difference_mm"] == 0


def test_an_idle_roll_of_another_diameter_must_come_off_the_shaft(ask: Ask) -> None:
    verdict = shaft(ask(beside=(roll(length_left_m=1), None), settings=COMMON))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.shaft-roll-off")
    assert verdict.minutes == 10


def test_a_running_roll_of_another_diameter_is_waited_for(ask: Ask) -> None:
    verdict = shaft(ask(beside=(roll(length_left_m=1), work()), settings=COMMON))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.shaft-running")


def test_a_roll_of_unknown_substrate_is_left_to_the_operator_s_eye(ask: Ask) -> None:
    verdict = shaft(ask(beside=(roll("gone"), None), settings=COMMON))
    assert spoken(verdict) == (Answer.CAN, "lanes.shaft-unknown")


def test_where_there_is_no_roll_yet_a_full_one_is_compared(ask: Ask) -> None:
    nearly_full = (roll(length_left_m=45), None)
    assert shaft(ask(roll=None, beside=nearly_full, settings=COMMON)).code == "lanes.shaft-ok"
    nearly_empty: Any = (roll(length_left_m=1), None)
    assert shaft(ask(roll=None, beside=nearly_empty, settings=COMMON)).code == "lanes.shaft-roll-off"


def test_the_roll_moved_over_from_the_neighbour_does_not_turn_beside_itself(ask: Ask) -> None:
    theirs = roll(length_left_m=12)
    verdict = shaft(ask(beside=(theirs, None), roll=RollAt(theirs, "tern-right"), settings=COMMON))
    assert verdict.facts["difference_mm"] == 0


def test_the_shaft_waits_for_the_substrate(ask: Ask) -> None:
    verdict = shaft(ask(substrate=None, settings=COMMON))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.substrate-needed")
