"""The layout in the ticket: each placement as a ContentObject, panels and drops as tiles.

JDF places content by a matrix [a b c d e f]: a content point (u, v) lands at (a u + c v + e, b u + d v + f)
on the surface (the PDF convention, ISO 32000). Content has the finished size and its bleed; hems and pockets
are printed round it.
"""

from collections.abc import Callable

from ticketbridge.hand_over.lane_ticket import LaneTicket, RunPart
from ticketbridge.hand_over.write_marks import add_marks
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.layout import Panel, Placement
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
    if ticket.item.pattern is not None and ticket.item.pattern.repeat_mm is not None:
        resource.set(own("RepeatLength"), number(points_from_mm(ticket.item.pattern.repeat_mm)))
    for page, part in enumerate(ticket.parts):
        _add_pieces(resource, page, part)
    add_marks(resource, ticket.marks)
    link("Layout", "ly", "DigitalPrinting")
    if layout.panels:
        _add_tiles(pool, ticket, link)


def _add_pieces(resource: Element, page: int, part: RunPart) -> None:
    """The pieces of one job: each shows its page, or with panels its tile."""
    layout = part.layout
    offset = (0.0, 0.0) if layout.panels else part.item.content_at_mm
    for placement in layout.placements:
        child(
            resource,
            "ContentObject",
            Ord=str(placement.panel if layout.panels else page),
            CTM=placement_matrix(placement, offset),
            ClipBox=_points(
                placement.x_mm,
                placement.y_mm,
                placement.x_mm + placement.width_mm,
                placement.y_mm + placement.height_mm,
            ),
        )


def _add_tiles(pool: Element, ticket: LaneTicket, link: Callable[..., Element]) -> None:
    """Each panel is a strip of the artwork: clipped, and moved to begin at zero.

    The artwork of a pattern is one repeat of one strip, which goes on beyond its end: a drop begins at its
    phase of it, and is as long as its ContentObject.
    """
    tiles = child(
        pool, "Tile", ID=ticket.id("ti"), Class="Parameter", Status="Available",
        PartIDKeys="TileID", ClipBox="0 0 0 0", CTM="1 0 0 1 0 0",
    )  # fmt: skip
    for panel in ticket.layout.panels:
        x_mm, y_mm, height_mm = _strip(ticket, panel)
        child(
            tiles,
            "Tile",
            TileID=f"{panel.column} 0",
            DescriptiveName=panel.label,
            ClipBox=_points(x_mm, y_mm, x_mm + panel.width_mm, y_mm + height_mm),
            CTM=f"1 0 0 1 {_points(-x_mm, -y_mm)}",
        )
    link("Tile", "ti", "Tiling")


def _strip(ticket: LaneTicket, panel: Panel) -> tuple[float, float, float]:
    """Where a panel begins in the artwork, across and up, and its height."""
    if ticket.item.pattern is not None and ticket.item.pattern.repeat_mm is not None:
        return 0.0, panel.phase_mm, max(placed.height_mm for placed in ticket.layout.placements)
    left_mm, bottom_mm = ticket.item.content_at_mm
    return panel.left_mm - left_mm, -bottom_mm, ticket.item.printed_height_mm


def placement_matrix(placement: Placement, content_at_mm: tuple[float, float] = (0.0, 0.0)) -> str:
    """The CTM in points: as it stands, or turned by 90 degrees counter-clockwise and moved back into its box.

    Args:
        placement: The box of the printed piece.
        content_at_mm: Where in the piece the artwork begins, seen unturned.
    """
    right_mm, up_mm = content_at_mm
    if placement.rotated:
        corner = _points(placement.x_mm + placement.width_mm - up_mm, placement.y_mm + right_mm)
        return f"0 1 -1 0 {corner}"
    return f"1 0 0 1 {_points(placement.x_mm + right_mm, placement.y_mm + up_mm)}"


def _points(*lengths_mm: float) -> str:
    return " ".join(number(points_from_mm(length_mm)) for length_mm in lengths_mm)
