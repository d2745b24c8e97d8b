"""How an item lies on a roll."""

from collections.abc import Callable
from typing import Any

import pytest

from ticketbridge.decide.layout import LayoutProblem, lay_out
from ticketbridge.model.layout import Layout
from ticketbridge.model.marks import Marks
from ticketbridge.model.order import Item

Make = Callable[..., Item]


def on_a_roll_of_1600(item: Item, **changes: Any) -> Layout | LayoutProblem:
    measures: dict[str, Any] = {
        "usable_width_mm": 1580,
        "roll_width_mm": 1600,
        "gap_mm": 10,
        "leader_mm": 500,
        "trailer_mm": 300,
    }
    return lay_out(item, **(measures | changes))


def laid(item: Item, **changes: Any) -> Layout:
    layout = on_a_roll_of_1600(item, **changes)
    assert isinstance(layout, Layout)
    return layout


def test_pieces_fill_row_after_row_and_the_last_row_is_partly_filled(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=297, finished_height_mm=420, quantity=23, may_rotate=False))
    assert (layout.across, layout.rows, layout.length_mm) == (5, 5, 2140)
    assert [(p.x_mm, p.y_mm) for p in layout.placements[-3:]] == [(0, 1720), (307, 1720), (614, 1720)]


def test_the_way_that_takes_less_length_is_chosen(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=1000, finished_height_mm=500, quantity=9))
    # Upright 1 across: 9 rows of 500 and 8 gaps. Turned 3 across: 3 rows of 1000 and 2 gaps.
    assert (layout.rotated, layout.across, layout.length_mm) == (True, 3, 3020)
    assert (layout.placements[0].width_mm, layout.placements[0].height_mm) == (500, 1000)


def test_the_odd_piece_stands_the_other_way_round_where_that_is_shorter(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=1000, finished_height_mm=500, quantity=10))
    # A fourth row of 1000 mm for one piece, or one of 500 mm.
    assert (layout.rows, layout.other_rows, layout.length_mm) == (4, 1, 3530)
    assert [placed.rotated for placed in layout.placements] == [True] * 9 + [False]
    last = layout.placements[-1]
    assert (last.x_mm, last.y_mm, last.width_mm, last.height_mm) == (0, 3030, 1000, 500)
    assert layout.orientation == "turned by 90 degrees, in the last row as they stand"


def test_rows_are_not_mixed_for_nothing(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=1000, finished_height_mm=500, quantity=11))
    # Two rows of one as they stand take more than one more row of three turned.
    assert (layout.rows, layout.other_rows, layout.length_mm) == (4, 0, 4030)


def test_marks_have_their_room_in_rows_of_both_ways_round(make_item: Make) -> None:
    marks = Marks(cut=True, slug_line=True, slug_height_mm=12)
    layout = laid(make_item(finished_width_mm=1000, finished_height_mm=500, quantity=10), marks=marks)
    slots = [1000 + 12 + 12] * 3 + [500 + 12 + 12]
    assert layout.other_rows == 1
    assert layout.length_mm == sum(slots) + 3 * 10
    assert layout.placements[-1].y_mm == 3 * (1024 + 10) + 6


def test_a_piece_that_may_not_be_turned_stays_upright(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=1000, finished_height_mm=500, quantity=10, may_rotate=False))
    assert (layout.rotated, layout.across, layout.length_mm) == (False, 1, 5090)


def test_where_both_ways_take_the_same_length_nothing_is_turned(make_item: Make) -> None:
    assert not laid(make_item(finished_width_mm=700, finished_height_mm=700, quantity=4)).rotated


def test_fewer_pieces_than_fit_beside_each_other_make_one_row(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=200, finished_height_mm=300, quantity=2, may_rotate=False))
    assert (layout.across, layout.rows, layout.image_width_mm) == (2, 1, 410)


def test_bleed_is_printed_on_all_four_sides_and_is_not_sold(make_item: Make) -> None:
    layout = laid(
        make_item(finished_width_mm=1000, finished_height_mm=500, quantity=1, bleed_mm=5, may_rotate=False)
    )
    assert (layout.placements[0].width_mm, layout.placements[0].height_mm) == (1010, 510)
    assert layout.piece_area_mm2 == 1000 * 500


def test_leader_and_trailer_are_used_up_too(make_item: Make) -> None:
    layout = laid(make_item(quantity=1, may_rotate=False))
    assert layout.consumed_length_mm == 500 + 500 + 300
    assert layout.waste_percent == pytest.approx(100 * (1 - 1000 * 500 / (1300 * 1600)))


def test_a_piece_too_wide_as_it_stands_is_turned_before_it_is_cut_up(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=5000, finished_height_mm=1500, quantity=2))
    assert (layout.rotated, layout.panels) == (True, ())


def test_a_piece_too_wide_both_ways_is_printed_in_even_panels(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=5000, finished_height_mm=2000, quantity=2))
    assert [(p.column, p.left_mm, p.width_mm) for p in layout.panels] == [
        (0, 0, 1265),
        (1, 1245, 1265),
        (2, 2490, 1265),
        (3, 3735, 1265),
    ]
    assert [(p.piece, p.panel) for p in layout.placements] == [
        (piece, panel) for piece in (0, 1) for panel in range(4)
    ]
    assert layout.length_mm == 8 * 2000 + 7 * 10


def test_wanted_panels_are_made_although_the_piece_would_fit_turned(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=3000, finished_height_mm=1000, quantity=1, panels="wanted"))
    assert (layout.rotated, len(layout.panels)) == (False, 2)


def test_wanted_panels_of_a_piece_that_fits_are_one_whole_piece(make_item: Make) -> None:
    assert laid(make_item(panels="wanted")).panels == ()


def test_a_piece_too_wide_both_ways_with_panels_forbidden_is_a_problem(make_item: Make) -> None:
    problem = on_a_roll_of_1600(
        make_item(finished_width_mm=5000, finished_height_mm=2000, panels="forbidden")
    )
    assert problem == LayoutProblem(
        "lanes.too-wide", {"width_mm": 5000, "height_mm": 2000, "usable_mm": 1580}
    )


def test_a_piece_that_would_fit_turned_but_may_not_be_is_told_so(make_item: Make) -> None:
    problem = on_a_roll_of_1600(
        make_item(finished_width_mm=5000, finished_height_mm=1000, panels="forbidden", may_rotate=False)
    )
    assert isinstance(problem, LayoutProblem)
    assert problem.code == "lanes.too-wide-upright"


def test_an_overlap_wider_than_the_roll_is_a_problem(make_item: Make) -> None:
    problem = on_a_roll_of_1600(
        make_item(finished_width_mm=5000, finished_height_mm=2000, panel_overlap_mm=1580)
    )
    assert isinstance(problem, LayoutProblem)
    assert problem.code == "lanes.overlap-too-wide"


def test_more_panels_than_anybody_means_are_a_problem_and_are_not_made(make_item: Make) -> None:
    problem = on_a_roll_of_1600(make_item(finished_width_mm=5000, finished_height_mm=2000, quantity=5001))
    assert problem == LayoutProblem("lanes.too-many-placements", {"count": 20_004, "most": 20_000})


@pytest.mark.parametrize("side_mm", [1_000_001, 1e308])
def test_a_piece_longer_than_any_roll_is_a_problem(make_item: Make, side_mm: float) -> None:
    problem = on_a_roll_of_1600(make_item(finished_height_mm=side_mm, bleed_mm=1))
    assert isinstance(problem, LayoutProblem)
    assert problem.code == "lanes.too-large"


def test_a_hem_is_printed_too(make_item: Make) -> None:
    layout = laid(
        make_item(
            quantity=1, may_rotate=False, bleed_mm=5, finishing={"hem": {"width_mm": 30, "edges": ["left"]}}
        )
    )
    assert (layout.placements[0].width_mm, layout.placements[0].height_mm) == (1040, 510)


def test_a_mural_is_printed_in_numbered_drops_each_at_its_own_phase(make_item: Make) -> None:
    """WALL-12: a wall of 4200 mm in drops of 1000 mm that overlap by 20 mm."""
    mural = make_item(finished_width_mm=4200, finished_height_mm=2500, quantity=1, pattern={"strip_mm": 1000})
    layout = laid(mural)
    assert [(p.label, p.left_mm, p.width_mm, p.phase_mm) for p in layout.panels] == [
        ("1 of 5", 0, 1000, 0),
        ("2 of 5", 980, 1000, 0),
        ("3 of 5", 1960, 1000, 0),
        ("4 of 5", 2940, 1000, 0),
        ("5 of 5", 3920, 280, 0),
    ]
    assert layout.length_mm == 5 * 2500 + 4 * 10


def test_a_straight_match_is_printed_on_from_drop_to_drop(make_item: Make) -> None:
    """WALL-07: drops of 2500 mm with a repeat of 640 mm are cut every 2560 mm."""
    pattern = {"match": "straight", "repeat_mm": 640, "strip_mm": 530}
    layout = laid(
        make_item(
            finished_width_mm=1550,
            finished_height_mm=2500,
            quantity=2,
            pattern=pattern,
            panel_overlap_mm=0,
        )
    )
    assert [(p.y_mm, p.height_mm) for p in layout.placements] == [
        (0, 2560),
        (2560, 2560),
        (5120, 2500),
        (7630, 2560),
        (10190, 2560),
        (12750, 2500),
    ]
    assert layout.length_mm == 15250


def test_a_half_drop_is_printed_at_alternate_phases(make_item: Make) -> None:
    """WALL-09: from one roll a half drop of 640 mm is cut every 2880 mm."""
    pattern = {"match": "half-drop", "repeat_mm": 640, "strip_mm": 530}
    layout = laid(
        make_item(
            finished_width_mm=1500,
            finished_height_mm=2500,
            quantity=1,
            pattern=pattern,
            panel_overlap_mm=0,
        )
    )
    assert (layout.pitch_mm, [panel.phase_mm for panel in layout.panels]) == (2880, [0, 320, 0])


def test_numbered_drops_of_a_repeat_begin_at_their_own_phase_and_waste_nothing_for_the_match(
    make_item: Make,
) -> None:
    pattern = {"match": "half-drop", "repeat_mm": 640, "strip_mm": 530, "drops": "numbered"}
    wall = {"finished_width_mm": 1500, "finished_height_mm": 2500, "pattern": pattern, "panel_overlap_mm": 0}
    layout = laid(make_item(**wall, quantity=1))
    assert [panel.phase_mm for panel in layout.panels] == [0, 320, 0]
    assert {placed.height_mm for placed in layout.placements} == {2500}
    assert (layout.pitch_mm, layout.across, layout.length_mm) == (None, 2, 5010)


def test_numbered_drops_of_a_straight_match_all_begin_alike(make_item: Make) -> None:
    pattern = {"match": "straight", "repeat_mm": 640, "strip_mm": 530, "drops": "numbered"}
    layout = laid(make_item(finished_width_mm=1500, finished_height_mm=2500, pattern=pattern, quantity=1))
    assert [panel.phase_mm for panel in layout.panels] == [0, 0, 0]


def test_a_wallcovering_is_not_turned_though_that_would_save_length(make_item: Make) -> None:
    layout = laid(make_item(finished_width_mm=1500, finished_height_mm=500, quantity=1, pattern={}))
    assert (layout.rotated, layout.panels) == (False, ())


def test_drops_are_refused_where_panels_are_forbidden(make_item: Make) -> None:
    problem = on_a_roll_of_1600(
        make_item(finished_width_mm=3000, finished_height_mm=500, pattern={}, panels="forbidden")
    )
    assert isinstance(problem, LayoutProblem)
    assert problem.code == "lanes.too-wide"


def test_marks_take_room_beside_and_after_each_piece(make_item: Make) -> None:
    marks = Marks(cut=True, slug_line=True, slug_height_mm=12)
    layout = laid(
        make_item(finished_width_mm=500, finished_height_mm=400, quantity=4, may_rotate=False), marks=marks
    )
    assert [(p.x_mm, p.y_mm) for p in layout.placements] == [(6, 6), (528, 6), (1050, 6), (6, 440)]
    assert (layout.image_width_mm, layout.length_mm) == (2 * 522 + 512, 2 * 424 + 10)
