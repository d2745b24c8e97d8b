"""Where the ticket wants every piece, or every panel of a piece: the boxes of its Layout, in mm."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from lxml import etree

from ticketbridge.press_sim.geometry import Box, Matrix, transformed, turned
from ticketbridge.press_sim.values import Unprintable, linked, matrix, needed, number_list, text, whole_number
from ticketbridge.vocabulary.names import jdf

_MOST_PAGES: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Placement:
    """One printed box on the roll.

    Attributes:
        index: Position in the Layout, from 0.
        ord: ``ContentObject@Ord``: the page, or with panels the tile.
        tile: ``Tile@TileID``, column and row; None without panels.
        ctm: ``ContentObject@CTM`` as six numbers, in points.
        box: Where it prints, in mm, from the start of the surface.
        rotated: Whether the content's width runs along the roll.
    """

    index: int
    ord: int
    tile: str | None
    ctm: Matrix
    box: Box
    rotated: bool


@dataclass(frozen=True, slots=True)
class _Tile:
    tile_id: str
    box: Box


def read_placements(
    root: "etree._Element", layout: "etree._Element", *, tiling: bool
) -> tuple[Placement, ...]:
    """All placements, in the order of the Layout.

    A box is the tile's clip box, or the trimmed size of the content (``@TrimSize``), turned and moved by the
    CTM and cut by ``ContentObject@ClipBox``. Content without a TrimSize fills its ClipBox; where it has none
    either, it is as large as ``Component@Dimensions``. Positions count from the lower left corner of
    ``Layout@SurfaceContentsBox``.

    Args:
        root: The ticket.
        layout: Its Layout.
        tiling: Whether Types has Tiling, so that Ord counts tiles.

    Raises:
        Unprintable: There are none, or one of them cannot be printed.
    """
    tiles = _tiles(needed(root, "Tile")) if tiling else None
    left, bottom = _origin(layout)
    placements = []
    for index, content in enumerate(layout.iter(jdf("ContentObject"))):
        ord_ = whole_number(content, "Ord", 0, len(tiles) - 1 if tiles is not None else _MOST_PAGES)
        tile = tiles[ord_] if tiles is not None else None
        ctm = matrix(content)
        box = _printed_box(root, content, ctm, tile)
        if box.width <= 0 or box.height <= 0:
            raise Unprintable(f"ContentObject {index} prints nothing: its box is empty.")
        placed = box.moved(-left, -bottom).in_mm()
        placements.append(Placement(index, ord_, tile.tile_id if tile else None, ctm, placed, turned(ctm)))
    if not placements:
        raise Unprintable("The Layout has no ContentObject.")
    return tuple(placements)


def print_order(placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """The placements as they come off the press: by their trailing edge, then as the Layout lists them."""
    return tuple(sorted(placements, key=lambda placement: (round(placement.box.top, 3), placement.index)))


def pieces_after(order: Sequence[Placement]) -> list[int]:
    """How many whole pieces there are after 0, 1, 2 ... all placements in print order.

    Without panels every placement is a piece. With panels a piece needs one of each tile that the Layout
    uses, so the tile printed least often decides.
    """
    if order[0].tile is None:
        return list(range(len(order) + 1))
    counts = dict.fromkeys((placement.ord for placement in order), 0)
    totals = [0]
    for placement in order:
        counts[placement.ord] += 1
        totals.append(min(counts.values()))
    return totals


def _origin(layout: "etree._Element") -> tuple[float, float]:
    for part in layout.iter(jdf("Layout")):
        if part.get("SurfaceContentsBox"):
            left, bottom, _, _ = number_list(part, "SurfaceContentsBox", 4)
            return left, bottom
    return 0.0, 0.0


def _printed_box(root: "etree._Element", content: "etree._Element", ctm: Matrix, tile: _Tile | None) -> Box:
    clip = Box(*number_list(content, "ClipBox", 4)) if content.get("ClipBox") else None
    if tile is not None:
        source = tile.box
    elif content.get("TrimSize"):
        source = Box(0, 0, *number_list(content, "TrimSize", 2))
    elif clip is not None:
        return clip
    else:
        source = _component_box(root)
    box = transformed(source, ctm)
    return box if clip is None else box.clipped(clip)


def _component_box(root: "etree._Element") -> Box:
    component = linked(root, "Component", "Output")
    if component is None:
        raise Unprintable("ContentObject has no TrimSize and no ClipBox, and no Component says the size.")
    width, height, _ = number_list(component, "Dimensions", 3)
    return Box(0, 0, width, height)


def _tiles(tile: "etree._Element") -> list[_Tile]:
    leaves = [leaf for leaf in tile.iter(jdf("Tile")) if leaf.get("TileID")]
    if not leaves:
        raise Unprintable("Types has Tiling, and no part of Tile has a TileID.")
    return [_Tile(text(leaf, "TileID"), _tile_box(leaf, tile)) for leaf in leaves]


def _tile_box(leaf: "etree._Element", tile: "etree._Element") -> Box:
    clip = Box(*number_list(leaf if leaf.get("ClipBox") else tile, "ClipBox", 4))
    return transformed(clip, matrix(leaf if leaf.get("CTM") else tile))
