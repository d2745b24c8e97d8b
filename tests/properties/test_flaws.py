"""What holds for every layout that is moved behind the flaws of a roll."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.layout import lay_out
from ticketbridge.decide.layout.flaws import behind_flaws, closed_up
from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.model.layout import Layout
from ticketbridge.model.marks import Marks
from ticketbridge.model.order import Item, Panels
from ticketbridge.model.pattern import Match, Pattern
from ticketbridge.model.substrate import Flaw

GAP_MM = 10.0

items = st.builds(
    Item,
    job_part_id=st.just("P1"),
    finished_width_mm=st.floats(50, 3000),
    finished_height_mm=st.floats(50, 3000),
    quantity=st.integers(1, 15),
    substrate=st.just("banner"),
    print_mode=st.just("swift"),
    panels=st.just(Panels.ALLOWED),
)
patterns = st.none() | st.builds(
    Pattern,
    match=st.sampled_from([Match.STRAIGHT, Match.HALF_DROP]),
    repeat_mm=st.floats(100, 700),
    strip_mm=st.just(500.0),
)
marks = st.builds(Marks, slug_line=st.booleans(), cut=st.booleans())
layouts = st.builds(
    lambda item, pattern, marks: lay_out(
        item.model_copy(update={"pattern": pattern}), 1580, 1600, GAP_MM, 500, 500, marks
    ),
    items,
    patterns,
    marks,
).filter(lambda layout: isinstance(layout, Layout))
flaws = st.lists(
    st.builds(Flaw, at_mm=st.floats(0, 20_000), length_mm=st.just(0.0) | st.floats(0, 800)), max_size=6
).map(tuple)
clearances = st.sampled_from([0.0, 10.0, 50.0])


def skipped(before: Layout, after: Layout) -> float:
    return after.length_mm - before.length_mm


@given(layouts, flaws, clearances)
def test_no_piece_touches_a_flaw(layout: Layout, flaws: tuple[Flaw, ...], clearance_mm: float) -> None:
    for placed in behind_flaws(layout, flaws, clearance_mm).placements:
        begin = layout.leader_mm + placed.y_mm
        for flaw in flaws:
            behind = begin >= flaw.at_mm + flaw.length_mm + clearance_mm - 2 * TOLERANCE_MM
            before = begin + placed.height_mm <= flaw.at_mm - clearance_mm + 2 * TOLERANCE_MM
            assert behind or before


@given(layouts, flaws, clearances)
def test_every_piece_is_still_there_as_it_was_only_farther_on(
    layout: Layout, flaws: tuple[Flaw, ...], clearance_mm: float
) -> None:
    moved = behind_flaws(layout, flaws, clearance_mm)

    assert len(moved.placements) == len(layout.placements)
    for was, is_now in zip(layout.placements, moved.placements, strict=True):
        assert is_now.y_mm >= was.y_mm
        assert (was.piece, was.panel, was.x_mm, was.width_mm, was.height_mm, was.rotated) == (
            is_now.piece,
            is_now.panel,
            is_now.x_mm,
            is_now.width_mm,
            is_now.height_mm,
            is_now.rotated,
        )


@given(layouts, flaws, clearances)
def test_rows_never_come_nearer_to_each_other(
    layout: Layout, flaws: tuple[Flaw, ...], clearance_mm: float
) -> None:
    moved = behind_flaws(layout, flaws, clearance_mm)
    in_order = sorted(zip(layout.placements, moved.placements, strict=True), key=lambda pair: pair[0].y_mm)
    steps = [is_now.y_mm - was.y_mm for was, is_now in in_order]

    assert all(later >= earlier - TOLERANCE_MM for earlier, later in pairwise(steps))


@given(layouts, flaws, clearances)
def test_what_is_skipped_is_longer_roll_and_waste(
    layout: Layout, flaws: tuple[Flaw, ...], clearance_mm: float
) -> None:
    moved = behind_flaws(layout, flaws, clearance_mm)
    room_mm = layout.length_mm - max(placed.y_mm + placed.height_mm for placed in layout.placements)
    last_mm = max(placed.y_mm + placed.height_mm for placed in moved.placements)

    assert moved.length_mm == pytest.approx(last_mm + room_mm)
    assert skipped(layout, moved) >= 0
    assert moved.piece_area_mm2 == layout.piece_area_mm2
    assert moved.waste_percent >= layout.waste_percent


@given(layouts, clearances)
def test_without_flaws_in_its_way_a_layout_stays_as_it_is(layout: Layout, clearance_mm: float) -> None:
    beyond = Flaw(at_mm=layout.consumed_length_mm + clearance_mm)

    assert behind_flaws(layout, (), clearance_mm) is layout
    assert behind_flaws(layout, (beyond,), clearance_mm) == layout


@given(layouts, flaws, clearances)
def test_moving_a_moved_layout_changes_nothing(
    layout: Layout, flaws: tuple[Flaw, ...], clearance_mm: float
) -> None:
    moved = behind_flaws(layout, flaws, clearance_mm)

    assert skipped(moved, behind_flaws(moved, flaws, clearance_mm)) <= 2 * TOLERANCE_MM


@given(layouts, flaws, clearances)
def test_a_layout_closed_up_again_is_the_one_for_a_faultless_roll(
    layout: Layout, flaws: tuple[Flaw, ...], clearance_mm: float
) -> None:
    again = closed_up(behind_flaws(layout, flaws, clearance_mm), GAP_MM)

    assert again.length_mm == pytest.approx(layout.length_mm)
    assert [one.y_mm for one in again.placements] == pytest.approx([one.y_mm for one in layout.placements])
