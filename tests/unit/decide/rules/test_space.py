"""Rules about the width across the roll and the length left on it."""

from collections.abc import Callable

import pytest

from ticketbridge.decide.layout import LayoutProblem
from ticketbridge.decide.roll_choice import RollAt
from ticketbridge.decide.rules import LaneQuestion
from ticketbridge.decide.rules.space import length_left, width
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.substrate import Roll
from ticketbridge.model.verdict import Answer, Verdict

Ask = Callable[..., LaneQuestion]


def spoken(verdict: Verdict) -> tuple[Answer, str]:
    """Answer and code; on the way it is seen that the facts fill the sentence and the remedy."""
    assert sentence(verdict.as_finding())
    assert remedy(verdict.as_finding())
    return verdict.answer, verdict.code


def banner(length_left_m: float, *, width_mm: float = 1600, lot: str = "B-99") -> Roll:
    return Roll(substrate="banner-510", lot=lot, width_mm=width_mm, length_left_m=length_left_m)


CANVAS = Roll(substrate="canvas-340", lot="C-9", width_mm=1600, length_left_m=50)


def test_a_piece_that_fits_is_told_with_the_room_it_has(ask: Ask) -> None:
    verdict = width(ask(item={"may_rotate": False}))
    assert spoken(verdict) == (Answer.CAN, "lanes.width-ok")
    assert verdict.facts == {"image_mm": 1000, "usable_mm": 1580, "roll_mm": 1600, "across": 1}


def test_a_turned_piece_is_told_to_be_turned(ask: Ask) -> None:
    assert spoken(width(ask())) == (Answer.CAN, "lanes.width-turned")


def test_panels_are_told_with_their_number_and_overlap(ask: Ask) -> None:
    verdict = width(ask(item={"finished_width_mm": 5000, "finished_height_mm": 2000}))
    assert spoken(verdict) == (Answer.CAN, "lanes.width-panels")
    assert verdict.facts == {"panels": 4, "panel_mm": 1265, "overlap_mm": 20, "usable_mm": 1580}


@pytest.mark.parametrize(
    ("item", "code"),
    [
        ({"panels": "forbidden"}, "lanes.too-wide"),
        ({"panel_overlap_mm": 1600}, "lanes.overlap-too-wide"),
        ({"quantity": 10_000}, "lanes.too-many-placements"),
        ({"finished_height_mm": 2_000_000}, "lanes.too-large"),
    ],
)
def test_what_no_width_of_the_lane_can_hold_is_never_printed(
    ask: Ask, item: dict[str, object], code: str
) -> None:
    verdict = width(ask(item={"finished_width_mm": 5000, "finished_height_mm": 2000} | item))
    assert spoken(verdict) == (Answer.NEVER, code)


def test_a_lane_too_narrow_for_every_roll_that_is_bought_waits_for_a_narrower_one(ask: Ask) -> None:
    problem = LayoutProblem(
        "lanes.no-width-for-lane", {"substrate": "Banner 510", "narrowest_mm": 3200, "lane_mm": 1620}
    )
    verdict = width(ask(layout=problem))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.no-width-for-lane")


def test_width_waits_for_the_substrate(ask: Ask) -> None:
    assert spoken(width(ask(substrate=None))) == (Answer.NOT_UNTIL, "lanes.substrate-needed")


def test_enough_on_the_loaded_roll_is_told_with_both_lengths(ask: Ask) -> None:
    verdict = length_left(ask())
    assert spoken(verdict) == (Answer.CAN, "lanes.length-ok")
    # Three rows of 3 turned and one as it stands: 3 x 1000 + 500 and 3 gaps of 10, 500 before and 500 behind.
    assert (verdict.facts["needed_m"], verdict.facts["left_m"]) == (4.53, 40)


def test_a_roll_that_holds_exactly_enough_is_enough(ask: Ask) -> None:
    assert length_left(ask(loaded=banner(4.53))).answer is Answer.CAN
    assert length_left(ask(loaded=banner(4.53 - 1e-9))).answer is Answer.CAN


def test_leader_and_trailer_count(ask: Ask) -> None:
    verdict = length_left(ask(loaded=banner(4.5)))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.length-short")


def test_an_empty_lane_is_loaded_first(ask: Ask) -> None:
    verdict = length_left(ask(loaded=None, roll=RollAt(banner(50), None)))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.roll-load")
    assert (verdict.minutes, verdict.facts["where"]) == (10, "the shelf")


def test_another_substrate_is_changed_for_the_roll_that_suits(ask: Ask) -> None:
    verdict = length_left(ask(loaded=CANVAS, roll=RollAt(banner(50), "tern-right")))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.roll-change")
    assert (verdict.facts["where"], verdict.facts["loaded"]) == ("tern-right", "canvas-340")


def test_a_loaded_roll_that_is_too_short_is_changed_for_a_longer_one(ask: Ask) -> None:
    verdict = length_left(ask(loaded=banner(2, lot="B-1"), roll=RollAt(banner(50), None)))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.roll-unsuited")
    assert (verdict.facts["loaded_lot"], verdict.facts["loaded_m"]) == ("B-1", 2)


def test_where_no_roll_suits_one_must_come_first(ask: Ask) -> None:
    verdict = length_left(ask(roll=None))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.roll-missing")
    assert verdict.facts["width_mm"] == 1600


def test_where_no_roll_is_long_enough_a_longer_one_must_come_first(ask: Ask) -> None:
    verdict = length_left(ask(loaded=CANVAS, roll=RollAt(banner(3), None)))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.length-short")


def test_what_no_full_roll_holds_must_be_split(ask: Ask) -> None:
    verdict = length_left(ask(item={"quantity": 1000}))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.length-beyond-a-roll")
    assert verdict.facts["bought_m"] == 50


def test_length_waits_for_a_layout(ask: Ask) -> None:
    problem = LayoutProblem("lanes.too-wide", {})
    assert spoken(length_left(ask(layout=problem))) == (Answer.NOT_UNTIL, "lanes.layout-needed")


def test_length_waits_for_the_substrate(ask: Ask) -> None:
    assert spoken(length_left(ask(substrate=None))) == (Answer.NOT_UNTIL, "lanes.substrate-needed")
