"""Where marks are printed."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.unit.made import MARKED, with_all_marks
from ticketbridge.decide.layout import lay_out
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.model.layout import Layout
from ticketbridge.model.marks import CUT_MARK_DISTANCE_MM, Mark, MarkKind, Marks
from ticketbridge.model.order import Item

Make = Callable[..., Item]
NOISE_MM = 0.01
ALL = Marks(slug_line=True, cut=True, eyelets=True)


def laid(item: Item, marks: Marks = ALL) -> Layout:
    layout = lay_out(item, 1580, 1600, 10, 500, 500, marks)
    assert isinstance(layout, Layout)
    return layout


def marked(item: Item, kind: MarkKind, marks: Marks = ALL) -> list[Mark]:
    return [mark for mark in marks_on(laid(item, marks), item, "HL-1", "Q000012") if mark.kind is kind]


def test_a_lane_without_marks_prints_none(make_item: Make) -> None:
    item = make_item(finishing={"eyelets": {}})
    assert marks_on(laid(item, Marks()), item, "HL-1", "Q000012") == ()


def test_a_slug_line_names_job_and_piece_and_carries_them_as_a_barcode(make_item: Make) -> None:
    first, second = marked(make_item(quantity=2, may_rotate=False), MarkKind.SLUG_LINE)
    assert (first.text, first.barcode) == ("HL-1  Q000012  piece 1 of 2", "Q000012-1")
    assert (second.text, second.barcode) == ("HL-1  Q000012  piece 2 of 2", "Q000012-2")


def test_the_slug_line_of_a_panel_says_which_panel_it_is(make_item: Make) -> None:
    panels = make_item(finished_width_mm=4000, finished_height_mm=2000, quantity=1)
    assert [(mark.text[-12:], mark.barcode) for mark in marked(panels, MarkKind.SLUG_LINE)] == [
        ("panel 1 of 3", "Q000012-1-1"),
        ("panel 2 of 3", "Q000012-1-2"),
        ("panel 3 of 3", "Q000012-1-3"),
    ]


def test_a_piece_too_narrow_for_its_barcode_has_the_text_alone(make_item: Make) -> None:
    [mark] = marked(make_item(finished_width_mm=60, quantity=1, may_rotate=False), MarkKind.SLUG_LINE)
    assert mark.text
    assert (mark.barcode, mark.bars) == ("", ())


def test_cut_marks_stand_in_line_with_the_cut_and_off_the_print(make_item: Make) -> None:
    item = make_item(finished_width_mm=500, finished_height_mm=400, quantity=1, bleed_mm=5, may_rotate=False)
    assert [(mark.at_mm, mark.outward) for mark in marked(item, MarkKind.CUT)] == [
        ((11, 11), (-1, -1)),
        ((511, 11), (1, -1)),
        ((11, 411), (-1, 1)),
        ((511, 411), (1, 1)),
    ]


def test_panels_are_not_cut_where_they_overlap(make_item: Make) -> None:
    item = make_item(finished_width_mm=4000, finished_height_mm=2000, quantity=1, bleed_mm=5)
    layout = laid(item)
    corners = [mark.at_mm[0] for mark in marked(item, MarkKind.CUT)]
    [left, right, *_], middle, last = corners[:4], corners[4:8], corners[8:]
    width = layout.panels[0].width_mm
    assert (left, right) == (6 + 5, pytest.approx(6 + width))
    assert (min(middle), max(middle)) == (6, pytest.approx(6 + width))
    assert (min(last), max(last)) == (6, pytest.approx(6 + width - 5))


def test_an_eyelet_mark_stands_where_the_eyelet_goes_hem_and_bleed_included(make_item: Make) -> None:
    finishing: dict[str, Any] = {"hem": {"width_mm": 30}, "eyelets": {"corners_only": True}}
    item = make_item(quantity=1, bleed_mm=5, may_rotate=False, finishing=finishing)
    marks = marked(item, MarkKind.EYELET, Marks(eyelets=True))
    assert [mark.at_mm for mark in marks] == [(60, 60), (1010, 60), (60, 510), (1010, 510)]


def test_eyelets_turn_with_the_piece(make_item: Make) -> None:
    finishing = {"eyelets": {"at_mm": [(100, 30)]}}
    item = make_item(finished_width_mm=2000, finished_height_mm=500, quantity=1, finishing=finishing)
    layout = laid(item, Marks(eyelets=True))
    assert layout.rotated
    [mark] = marks_on(layout, item, "HL-1", "Q000012")
    assert mark.at_mm == (500 - 30, 100)


def test_eyelets_of_a_mirrored_print_are_seen_from_the_other_side(make_item: Make) -> None:
    finishing = {"eyelets": {"at_mm": [(100, 30)]}, "hem": {"width_mm": 40, "edges": ["right"]}}
    item = make_item(quantity=1, may_rotate=False, layer_stack="colour, white", finishing=finishing)
    [mark] = marked(item, MarkKind.EYELET, Marks(eyelets=True))
    assert mark.at_mm == (40 + 1000 - 100, 30)


def test_between_drops_that_are_printed_on_a_cut_is_marked_at_the_sides_only() -> None:
    item = MARKED["a straight match"]
    layout = with_all_marks(item)
    cuts = [m for m in marks_on(layout, item, "HL-1", "Q000012") if m.kind is MarkKind.CUT]
    drops, pieces = len(layout.panels), item.quantity
    assert len(cuts) == 4 * drops * pieces
    assert sum(mark.outward[1] != 0 for mark in cuts) == 4 * pieces
    assert {mark.height_mm for mark in cuts if mark.outward[1] == 0} == {0}


@pytest.mark.parametrize("what", MARKED)
def test_slug_lines_and_cut_marks_have_room_beside_every_piece(what: str) -> None:
    item = MARKED[what]
    layout = with_all_marks(item)
    for mark in marks_on(layout, item, "HL-1", "Q000012"):
        assert mark.x_mm >= -NOISE_MM
        assert mark.x_mm + mark.width_mm <= layout.usable_width_mm + NOISE_MM
        assert mark.y_mm >= -NOISE_MM
        assert mark.y_mm + mark.height_mm <= layout.length_mm + NOISE_MM
        if mark.kind is not MarkKind.EYELET:
            assert not any(_on_print(mark, placed) for placed in layout.placements)


def _on_print(mark: Mark, placed: Any) -> bool:
    """Whether ink of the mark falls on a piece: of a cut mark, what lies off the printed edge is drawn."""
    x, y = mark.x_mm, mark.y_mm
    right, trailing = x + mark.width_mm, y + mark.height_mm
    if mark.kind is MarkKind.CUT:
        ends = [x if mark.outward[0] < 0 else right, y if mark.outward[1] <= 0 else trailing]
        return (
            placed.x_mm - CUT_MARK_DISTANCE_MM
            < ends[0]
            < placed.x_mm + placed.width_mm + CUT_MARK_DISTANCE_MM
            and placed.y_mm - CUT_MARK_DISTANCE_MM < ends[1] < placed.y_mm + placed.height_mm
        )
    across = x < placed.x_mm + placed.width_mm - NOISE_MM and right > placed.x_mm + NOISE_MM
    along = y < placed.y_mm + placed.height_mm - NOISE_MM and trailing > placed.y_mm + NOISE_MM
    return bool(across and along)
