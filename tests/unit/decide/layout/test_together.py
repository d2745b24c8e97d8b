"""Several items on one stretch of a roll."""

from collections.abc import Callable

import pytest

from ticketbridge.decide.layout import LayoutProblem, RollMeasures, lay_out, lay_out_together
from ticketbridge.model.layout import Placement, Run
from ticketbridge.model.marks import Marks
from ticketbridge.model.order import Item, Panels
from ticketbridge.model.pattern import Match, Pattern

Make = Callable[..., Item]

ROLL = RollMeasures(usable_width_mm=1580, roll_width_mm=1600, gap_mm=10, leader_mm=500, trailer_mm=300)


def together(*items: Item, roll: RollMeasures = ROLL) -> Run:
    run = lay_out_together(items, roll)
    assert isinstance(run, Run)
    return run


def placements(run: Run) -> list[Placement]:
    return [placed for part in run.parts for placed in part.placements]


def test_a_small_item_lies_beside_a_large_one(make_item: Make) -> None:
    large = make_item(finished_width_mm=1000, finished_height_mm=2000, quantity=1, may_rotate=False)
    small = make_item(finished_width_mm=500, finished_height_mm=600, quantity=3, may_rotate=False)
    run = together(large, small)
    assert run.length_mm == 2000
    assert run.consumed_length_mm == 2800
    assert [part.piece_area_mm2 for part in run.parts] == [2_000_000, 900_000]


def test_items_that_gain_nothing_stay_in_rows_of_their_own(make_item: Make) -> None:
    one, other = (
        make_item(finished_width_mm=1500, finished_height_mm=height, quantity=2, may_rotate=False)
        for height in (400, 300)
    )
    run = together(one, other)
    assert [placed.y_mm for placed in placements(run)] == [0, 410, 820, 1130]


def test_one_item_is_laid_out_as_it_is_alone(make_item: Make) -> None:
    item = make_item(finished_width_mm=297, finished_height_mm=420, quantity=23)
    alone = lay_out(
        item, ROLL.usable_width_mm, ROLL.roll_width_mm, ROLL.gap_mm, ROLL.leader_mm, ROLL.trailer_mm
    )
    assert together(item).parts == (alone,)


def test_pieces_are_numbered_as_they_come_out(make_item: Make) -> None:
    large = make_item(finished_width_mm=1000, finished_height_mm=2000, quantity=1, may_rotate=False)
    small = make_item(finished_width_mm=500, finished_height_mm=600, quantity=3, may_rotate=False)
    part = together(large, small).parts[1]
    assert [placed.piece for placed in part.placements] == [0, 1, 2]
    leading_edges = [placed.y_mm for placed in part.placements]
    assert leading_edges == sorted(leading_edges)


def test_the_roll_is_charged_by_what_each_item_prints(make_item: Make) -> None:
    large = make_item(finished_width_mm=1000, finished_height_mm=2000, quantity=1, may_rotate=False)
    small = make_item(finished_width_mm=500, finished_height_mm=1000, quantity=1, may_rotate=False)
    assert together(large, small).charged_mm() == (pytest.approx(2240), pytest.approx(560))


def test_the_waste_of_a_run_is_what_no_item_sells(make_item: Make) -> None:
    large = make_item(finished_width_mm=1000, finished_height_mm=2000, quantity=1, may_rotate=False)
    small = make_item(finished_width_mm=500, finished_height_mm=1000, quantity=1, may_rotate=False)
    whole = together(large, small).whole
    assert whole.waste_percent == pytest.approx(100 * (1 - 2_500_000 / (2800 * 1600)))
    assert (whole.image_left_mm, whole.image_width_mm) == (0, 1510)


def test_a_run_as_one_layout_has_the_pieces_of_all_items_numbered_through(make_item: Make) -> None:
    large = make_item(finished_width_mm=1000, finished_height_mm=2000, quantity=2, may_rotate=False)
    small = make_item(finished_width_mm=500, finished_height_mm=600, quantity=3, may_rotate=False)
    whole = together(large, small).whole
    assert [placed.piece for placed in whole.placements] == [0, 1, 2, 3, 4]
    assert whole.piece_area_mm2 == 4_900_000


def test_panels_of_one_piece_come_out_one_after_the_other(make_item: Make) -> None:
    wide = make_item(finished_width_mm=2500, finished_height_mm=1700, quantity=2, panels=Panels.WANTED)
    small = make_item(finished_width_mm=250, finished_height_mm=400, quantity=6, may_rotate=False)
    run = together(wide, small)
    panels = run.parts[0].placements
    assert [(placed.piece, placed.panel) for placed in panels] == [(0, 0), (0, 1), (1, 0), (1, 1)]
    assert run.parts[0].panels
    assert run.length_mm == 4 * 1700 + 3 * 10, "the small ones lie beside the panels"


def test_drops_of_a_repeat_are_printed_on_also_beside_others(make_item: Make) -> None:
    wall = make_item(
        finished_width_mm=1400,
        finished_height_mm=2500,
        quantity=1,
        pattern=Pattern(match=Match.STRAIGHT, repeat_mm=640, strip_mm=700),
    )
    small = make_item(finished_width_mm=400, finished_height_mm=400, quantity=4, may_rotate=False)
    run = together(wall, small)
    drops = run.parts[0].placements
    assert [drop.y_mm for drop in drops] == [drops[0].y_mm + n * 2560 for n in range(len(drops))]
    assert (
        run.length_mm == run.parts[0].pitch_mm * (len(drops) - 1) + 2500 if run.parts[0].pitch_mm else False
    )


def test_marks_have_their_room_round_every_piece(make_item: Make) -> None:
    marked = RollMeasures(1580, 1600, 10, 500, 300, Marks(cut=True, slug_line=True, slug_height_mm=12))
    item = make_item(finished_width_mm=700, finished_height_mm=700, quantity=1, may_rotate=False)
    other = make_item(finished_width_mm=600, finished_height_mm=600, quantity=1, may_rotate=False)
    run = together(item, other, roll=marked)
    assert [(placed.x_mm, placed.y_mm) for placed in placements(run)] == [(6, 6), (728, 6)]
    assert run.length_mm == 700 + 12 + 12


def test_the_first_item_that_cannot_be_laid_out_says_why(make_item: Make) -> None:
    too_wide = make_item(finished_width_mm=2000, finished_height_mm=2000, quantity=1, panels=Panels.FORBIDDEN)
    answer = lay_out_together([make_item(quantity=1), too_wide], ROLL)
    assert isinstance(answer, LayoutProblem)
    assert answer.code == "lanes.too-wide"
