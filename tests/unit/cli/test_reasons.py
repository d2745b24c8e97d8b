"""Decisions in words."""

from dataclasses import replace

from tests.unit.made import ITEM, LAYOUT, MARKED, ROLL, with_all_marks
from ticketbridge.cli.reasons import MOST_CUT_LINES, cut_lines, layout_lines, pattern_lines, together_lines
from ticketbridge.decide.layout import lay_out
from ticketbridge.decide.roll_choice import RollAt
from ticketbridge.decide.route import Judged
from ticketbridge.model.layout import Layout, Placement
from ticketbridge.model.order import Item
from ticketbridge.model.press import Lane, Press, ThicknessRange
from ticketbridge.model.verdict import LaneVerdict


def test_a_repeating_pattern_says_what_the_match_costs_and_how_many_drops_a_roll_has() -> None:
    """500 mm and 3 mm of trim allowance at both ends, repeat 640 mm; 20 m less leader and trailer of 500 mm."""
    item = MARKED["a straight match"]
    assert pattern_lines(with_all_marks(item), item, 20_000) == [
        "  drops of 506 mm, one every 640 mm: 134 mm each for the match",
        "  the roll has 29 such drops, 16 are needed",
    ]


def test_anything_else_says_nothing_of_a_pattern() -> None:
    assert pattern_lines(LAYOUT, MARKED["panels"], 20_000) == []


def test_waste_is_told_by_cause_the_largest_first() -> None:
    """Two pieces of 1000 x 500 mm, one behind the other, on 2010 mm of a roll of 1600 mm."""
    assert (
        "  wasted: leader and trailer 49.8 %, between the pieces 18.5 %, edges of the roll 0.6 %"
        in layout_lines(LAYOUT, ITEM)
    )


def test_cuts_are_told_in_their_order_and_alike_parts_once() -> None:
    signs = {"finished_width_mm": 297, "finished_height_mm": 420, "quantity": 12, "may_rotate": False}
    item = ITEM.model_copy(update=signs)
    layout = lay_out(item, 1580, 1600, 10, 500, 500)
    assert isinstance(layout, Layout)
    assert cut_lines(layout) == [
        "  cut across at 425, 855 mm",
        "  cut along at 302, 609, 916, 1223 mm, in each of 2 parts",
        "  cut along at 302 mm",
    ]


def test_a_long_cut_list_is_cut_short_and_says_so() -> None:
    stairs = tuple(
        Placement(2 * n + side, 0, side * (100 + n), 110 * n, 90 + n, 100, rotated=False)
        for n in range(20)
        for side in (0, 1)
    )
    lines = cut_lines(replace(LAYOUT, placements=stairs))
    assert len(lines) == MOST_CUT_LINES + 1
    assert lines[-1] == "  and 9 more lines of cuts"


def test_what_no_cut_parts_is_left_to_the_hand() -> None:
    sizes = ((0, 0, 200, 100), (200, 0, 100, 200), (100, 200, 200, 100), (0, 100, 100, 200))
    placements = tuple(Placement(n, 0, *size, rotated=False) for n, size in enumerate(sizes))
    assert cut_lines(replace(LAYOUT, placements=placements)) == ["  cut 4 pieces apart by hand"]


LANE = Lane(id="a", name="Lane A", device_id="HL-P1-A", width_mm=1650, folder="a")
PRESS = Press(
    id="p1", name="Press 1", beam_width_mm=3300, head_swath_mm=54, carriage_speed_mm_s=1000, ramp_mm=150,
    thickness_um=ThicknessRange(max=1000), lanes=(LANE,),
)  # fmt: skip


def chosen(**changes: object) -> tuple[Judged, Item]:
    item = ITEM.model_copy(update={"quantity": 1, "may_rotate": False, **changes})
    layout = lay_out(item, 1580, 1600, 10, 500, 500)
    assert isinstance(layout, Layout)
    verdict = LaneVerdict(LANE.device_id, ())
    return Judged(PRESS, LANE, RollAt(ROLL, LANE.device_id), layout, None, verdict, 0.0, ()), item


def test_items_for_one_roll_are_told_what_they_would_save_together() -> None:
    parts = [
        chosen(job_part_id="1", finished_width_mm=1000, finished_height_mm=2000),
        chosen(job_part_id="2", finished_width_mm=500, finished_height_mm=1500),
    ]
    line = "Items 1 and 2 on one stretch would use 3.00 m of roll instead of 5.50 m"
    assert together_lines(parts) == [line]


def test_items_of_two_print_modes_are_not_laid_together() -> None:
    parts = [chosen(job_part_id="1"), chosen(job_part_id="2", print_mode="banner-8")]
    assert together_lines(parts) == []
