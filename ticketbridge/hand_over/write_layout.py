"""The layout in the ticket: each placement as a ContentObject, panels as tiles.

JDF places content by a matrix [a b c d e f]: a content point (u, v) lands at (a u + c v + e, b u + d v + f)
on the surface (the PDF convention, ISO 32000). Content begins at the lower left corner of the printed size.
"""

from collections.abc import Callable

from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.layout import Placement
from ticketbridge.vocabulary.names import own
from ticketbridge.vocabulary.units import number, points_from_mm


def add_layout(pool: Element, ticket: LaneTicket, link: Callable[..., Element]) -> None:
    """The Layout resource, the Tile resource where there are panels, and their links."""
    layout = ticket.layout
    surface = _points(0, 0, layout.usable_width_mm, layout.length_mm)
    resource = child(
        pool, "Layout", ID=ticket.id("ly"), Class="Parameter", Status="Available", SurfaceContentsBox=surface
    )
    resource.set(own("LeaderLength"), number(points_from_mm(layout.leader_mm)))
    resource.set(own("TrailerLength"), number(points_from_mm(layout.trailer_mm)))
    for placement in layout.placements:
        ordinal = placement.panel if layout.panels else 0
        child(
            resource,
            "ContentObject",
            Ord=str(ordinal),
            CTM=placement_matrix(placement),
            ClipBox=_points(
                placement.x_mm,
                placement.y_mm,
                placement.x_mm + placement.width_mm,
                placement.y_mm + placement.height_mm,
            ),
        )
    link("Layout", "ly", "DigitalPrinting")
    if layout.panels:
        _add_tiles(pool, ticket, link)


def _add_tiles(pool: Element, ticket: LaneTicket, link: Callable[..., Element]) -> None:
    """Each panel is a strip of the artwork: clipped, and moved to begin at zero."""
    tiles = child(
        pool, "Tile", ID=ticket.id("ti"), Class="Parameter", Status="Available",
        PartIDKeys="TileID", ClipBox="0 0 0 0", CTM="1 0 0 1 0 0",
    )  # fmt: skip
    height_mm = ticket.item.printed_height_mm
    for panel in ticket.layout.panels:
        child(
            tiles,
            "Tile",
            TileID=f"{panel.column} 0",
            ClipBox=_points(panel.left_mm, 0, panel.left_mm + panel.width_mm, height_mm),
            CTM=f"1 0 0 1 {number(-points_from_mm(panel.left_mm))} 0",
        )
    link("Tile", "ti", "Tiling")


def placement_matrix(placement: Placement) -> str:
    """The CTM in points: as it stands, or turned by 90 degrees counter-clockwise and moved back into its box."""
    if placement.rotated:
        x_mm = placement.x_mm + placement.width_mm
        return f"0 1 -1 0 {number(points_from_mm(x_mm))} {number(points_from_mm(placement.y_mm))}"
    return f"1 0 0 1 {number(points_from_mm(placement.x_mm))} {number(points_from_mm(placement.y_mm))}"


def _points(*lengths_mm: float) -> str:
    return " ".join(number(points_from_mm(length_mm)) for length_mm in lengths_mm)
