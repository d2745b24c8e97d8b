"""What finishing adds to the printed size."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from ticketbridge.model.finishing import ALL_EDGES, Edge, Finishing, Hem, PolePocket
from ticketbridge.model.order import Item
from ticketbridge.model.pattern import Match, Pattern


def item(finishing: Finishing, bleed_mm: float = 0) -> Item:
    return Item(
        job_part_id="1",
        finished_width_mm=3000,
        finished_height_mm=1000,
        quantity=1,
        bleed_mm=bleed_mm,
        substrate="banner",
        print_mode="swift",
        finishing=finishing,
    )


def test_nothing_is_added_where_nothing_is_done() -> None:
    assert (item(Finishing()).printed_width_mm, item(Finishing()).printed_height_mm) == (3000, 1000)


def test_a_pocket_takes_the_place_of_the_hem_on_its_edges() -> None:
    finishing = Finishing(
        hem=Hem(width_mm=30), pole_pocket=PolePocket(flat_mm=80, seam_mm=20, edges=(Edge.TOP,))
    )
    piece = item(finishing)
    assert (piece.cut_width_mm, piece.cut_height_mm) == (3060, 1000 + 100 + 30)


edges = st.lists(st.sampled_from(ALL_EDGES), unique=True).map(tuple)


@given(st.floats(1, 60), edges, st.floats(10, 200), st.floats(0, 30), edges, st.floats(0, 20))
def test_the_printed_size_is_finished_size_and_allowances_and_bleed(
    hem: float, hems: tuple[Edge, ...], flat: float, seam: float, pockets: tuple[Edge, ...], bleed: float
) -> None:
    finishing = Finishing(
        hem=Hem(width_mm=hem, edges=hems), pole_pocket=PolePocket(flat_mm=flat, seam_mm=seam, edges=pockets)
    )
    piece = item(finishing, bleed)

    def added(edge: Edge) -> float:
        return flat + seam if edge in pockets else hem if edge in hems else 0

    assert piece.printed_width_mm == pytest.approx(3000 + added(Edge.LEFT) + added(Edge.RIGHT) + 2 * bleed)
    assert piece.printed_height_mm == pytest.approx(1000 + added(Edge.TOP) + added(Edge.BOTTOM) + 2 * bleed)


@pytest.mark.parametrize("values", [{"match": "straight"}, {"match": "none", "repeat_mm": 640}])
def test_a_match_needs_a_repeat_and_a_mural_has_none(values: dict[str, object]) -> None:
    with pytest.raises(ValidationError, match="need repeat_mm"):
        Pattern.model_validate(values)


def test_a_half_drop_is_a_pattern() -> None:
    assert Pattern(match=Match.HALF_DROP, repeat_mm=640).strip_mm is None
