"""Boxes are read from the ticket as they were written into it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from tests.unit.press_sim.tickets import Job, Piece, ticket_root
from ticketbridge.press_sim.placements import Placement, pieces_after, print_order, read_placements
from ticketbridge.vocabulary.names import jdf


def placements(root: etree._Element) -> tuple[Placement, ...]:
    layout = root.find(f".//{jdf('Layout')}")
    return read_placements(root, layout, tiling="Tiling" in root.get("Types", ""))


def written(placement: Placement) -> tuple[float, ...]:
    box = placement.box
    return tuple(round(edge, 3) for edge in (box.left, box.bottom, box.width, box.height))


LENGTHS = st.integers(1, 5_000_000).map(lambda um: um / 1000)
PIECES = st.lists(
    st.builds(Piece, LENGTHS, LENGTHS, LENGTHS, LENGTHS, rotated=st.booleans()), min_size=1, max_size=8
)


@settings(deadline=None)
@given(pieces=PIECES, trim_sizes=st.booleans())
def test_any_layout_is_read_as_it_was_written(pieces: list[Piece], trim_sizes: bool) -> None:
    root = ticket_root(Job(pieces=pieces, trim_sizes=trim_sizes, clip_boxes=True))
    read = placements(root)
    assert [written(p) for p in read] == [(p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in pieces]
    assert [p.rotated for p in read] == [p.rotated for p in pieces]
    assert [p.index for p in read] == list(range(len(pieces)))


def test_a_tile_is_as_large_as_its_clip_box_wherever_it_lies_in_the_artwork() -> None:
    pieces = [Piece(0, 0, 700, 900, tile=0), Piece(0, 910, 500, 900, tile=1)]
    read = placements(ticket_root(Job(pieces=pieces, panel_widths_mm=[700, 500])))
    assert [written(p) for p in read] == [(0, 0, 700, 900), (0, 910, 500, 900)]
    assert [p.tile for p in read] == ["0 0", "1 0"]


def test_a_turned_tile_is_turned() -> None:
    pieces = [Piece(10, 20, 900, 700, rotated=True, tile=0)]
    root = ticket_root(Job(pieces=pieces, panel_widths_mm=[700]))
    root.find(f".//{jdf('Tile')}/{jdf('Tile')}").set("ClipBox", "0 0 1984.251969 2551.181102")
    assert [written(p) for p in placements(root)] == [(10, 20, 900, 700)]


def test_positions_count_from_the_corner_of_the_surface() -> None:
    root = ticket_root(Job(pieces=[Piece(100, 200, 300, 400)]))
    root.find(f".//{jdf('Layout')}").set("SurfaceContentsBox", "72 144 4000 4000")
    assert written(placements(root)[0]) == (74.6, 149.2, 300, 400)


def test_a_clip_box_cuts() -> None:
    root = ticket_root(Job(pieces=[Piece(0, 0, 254, 254)]))
    root.find(f".//{jdf('ContentObject')}").set("ClipBox", "72 72 144 9999")
    assert written(placements(root)[0]) == (25.4, 25.4, 25.4, 228.6)


def test_content_without_any_size_is_as_large_as_the_component() -> None:
    root = ticket_root(Job(pieces=[Piece(0, 0, 300, 400)], trim_sizes=False))
    assert written(placements(root)[0]) == (0, 0, 300, 400)


def test_without_panels_every_box_is_a_piece() -> None:
    order = print_order(placements(ticket_root(Job())))
    assert pieces_after(order) == [0, 1, 2]


@settings(deadline=None)
@given(st.permutations([0, 0, 1, 1, 2, 2]))
def test_with_panels_a_piece_needs_one_of_each(tiles: list[int]) -> None:
    pieces = [Piece(0, 100.0 * row, 50, 100, tile=tile) for row, tile in enumerate(tiles)]
    order = print_order(placements(ticket_root(Job(pieces=pieces, panel_widths_mm=[50, 50, 50]))))
    totals = pieces_after(order)
    for count, total in enumerate(totals):
        assert total == min([p.ord for p in order[:count]].count(tile) for tile in range(3))
    assert totals[-1] == 2


def test_a_tile_without_parts_is_refused() -> None:
    root = ticket_root(Job(pieces=[Piece(0, 0, 700, 900, tile=0)], panel_widths_mm=[700]))
    for leaf in root.findall(f".//{jdf('Tile')}/{jdf('Tile')}"):
        leaf.getparent().remove(leaf)
    with pytest.raises(Exception, match="no part of Tile has a TileID"):
        placements(root)
