"""Seams between panels, kept out of faces and words."""

from collections.abc import Callable
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.layout import LayoutProblem, lay_out
from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.decide.layout.seams import Zone, spans_between_zones, zones_in_print
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Panels
from ticketbridge.model.substrate import LayerStack

Make = Callable[..., Item]


def seams(spans: list[Zone]) -> list[Zone]:
    """What neighbours share."""
    return [(other_left, left + width) for (left, width), (other_left, _) in pairwise(spans)]


def test_without_zones_panels_are_even() -> None:
    assert spans_between_zones(3000, 1580, 20, []) == [(0, 1510), (1490, 1510)]


def test_a_zone_that_no_seam_meets_changes_nothing() -> None:
    assert spans_between_zones(3000, 1580, 20, [(100, 1400)]) == [(0, 1510), (1490, 1510)]


def test_a_seam_moves_to_the_edge_of_a_zone() -> None:
    spans = spans_between_zones(3000, 1580, 20, [(1480, 1600)])
    assert spans == [(0, 1480), (1460, 1540)]


def test_where_no_place_is_free_there_is_a_panel_more() -> None:
    spans = spans_between_zones(3000, 1580, 20, [(1000, 2000)])
    assert spans is not None
    assert len(spans) == 3
    assert all(right <= 1000 or left >= 2000 for left, right in seams(spans))


def test_a_zone_wider_than_a_panel_has_no_seams_beside_it() -> None:
    assert spans_between_zones(5000, 1580, 20, [(1000, 2600)]) is None


def test_zones_are_counted_from_the_finished_edge_and_mirrored_with_the_image(make_item: Make) -> None:
    plain = make_item(finished_width_mm=3000, bleed_mm=5, keep_seams_from_mm=((1000, 1200),))
    assert zones_in_print(plain) == [(1005, 1205)]
    mirrored = plain.model_copy(update={"layer_stack": LayerStack.COLOUR_WHITE})
    assert mirrored.layer_stack.mirrored
    assert zones_in_print(mirrored) == [(1805, 2005)]


def test_a_layout_has_its_seams_where_they_may_be(make_item: Make) -> None:
    face = {"panels": Panels.WANTED, "keep_seams_from_mm": ((1480, 1600),)}
    layout = lay_out(
        make_item(finished_width_mm=3000, finished_height_mm=2000, **face), 1580, 1600, 10, 500, 500
    )
    assert isinstance(layout, Layout)
    assert [(panel.left_mm, panel.width_mm) for panel in layout.panels] == [(0, 1480), (1460, 1540)]


def test_a_layout_without_a_place_for_its_seams_says_so(make_item: Make) -> None:
    face = {"panels": Panels.WANTED, "keep_seams_from_mm": ((100, 2900),)}
    problem = lay_out(
        make_item(finished_width_mm=3000, finished_height_mm=2000, **face), 1580, 1600, 10, 500, 500
    )
    assert isinstance(problem, LayoutProblem)
    assert problem.code == "lanes.no-place-for-seams"


zones = st.lists(
    st.tuples(st.floats(0, 9000), st.floats(10, 1500)).map(lambda one: (one[0], one[0] + one[1])), max_size=5
)


@given(st.floats(1001, 9000), st.floats(700, 3000), st.floats(0, 60), zones)
def test_panels_cover_the_piece_share_the_overlap_and_keep_their_seams_out(
    width_mm: float, widest_mm: float, overlap_mm: float, forbidden: list[Zone]
) -> None:
    spans = spans_between_zones(width_mm, widest_mm, overlap_mm, forbidden)
    if spans is None:
        return
    noise = 3 * TOLERANCE_MM
    assert spans[0][0] == 0
    assert abs(sum(spans[-1]) - width_mm) <= noise
    assert max(width for _, width in spans) <= widest_mm + noise
    for left, right in seams(spans):
        assert abs(right - left - overlap_mm) <= noise
        assert all(right <= begin + noise or end - noise <= left for begin, end in forbidden)


@given(st.floats(1001, 3000), st.floats(700, 1000), st.integers(0, 30).map(float), zones)
def test_a_place_is_found_wherever_there_is_one(
    width_mm: float, widest_mm: float, overlap_mm: float, forbidden: list[Zone]
) -> None:
    """Two panels, every place for their seam tried to the millimetre."""
    if width_mm > 2 * widest_mm - overlap_mm:
        return
    least, most = int(max(overlap_mm, width_mm - widest_mm)) + 1, int(widest_mm - overlap_mm)
    free = [
        place
        for place in range(least, most)
        if all(place + overlap_mm <= begin or end <= place for begin, end in forbidden)
    ]
    spans = spans_between_zones(width_mm, widest_mm, overlap_mm, forbidden)
    if free:
        assert spans is not None
        assert len(spans) == 2
