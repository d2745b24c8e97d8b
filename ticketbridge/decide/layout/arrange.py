"""Which way the pieces stand, how many stand beside each other, and in how many panels: no placements yet.

An arrangement costs a few multiplications, however many pieces there are. So rolls and lanes are compared
by arrangements, and placements are made once, for the width that was chosen.
"""

from dataclasses import dataclass
from typing import Final

from ticketbridge.decide.layout.formulas import (
    TOLERANCE_MM,
    copies_across,
    even_panel_width,
    length_for_rows,
    panel_count,
)
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.model.layout import Panel
from ticketbridge.model.order import Item, Panels

MOST_PLACEMENTS: Final = 20_000
"""More pieces and panels than this in one job are refused: it is a slip of the pen, or an attack."""

LARGEST_SIDE_MM: Final = 1_000_000.0
"""A kilometre, longer than any roll: a size beyond it is a slip of the decimal point."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A grid of equal pieces, or of equal panels, on a usable width.

    Attributes:
        width_mm: Size of one piece or panel across the roll, bleed included.
        height_mm: Its size along the roll.
        across: Beside each other in a full row.
        rows: Rows along the roll; the last may be partly filled.
        rotated: Whether pieces are turned by 90 degrees.
        panels: The panels of one piece; empty where a piece is whole.
        count: Pieces, or panels of all pieces.
        length_mm: From the first leading edge to the last trailing edge.
    """

    width_mm: float
    height_mm: float
    across: int
    rows: int
    rotated: bool
    panels: tuple[Panel, ...]
    count: int
    length_mm: float


def arrange(item: Item, usable_width_mm: float, gap_mm: float) -> Arrangement | LayoutProblem:
    """The best grid for an item on a usable width.

    A piece that fits whole is laid both ways, unless it may not be turned, and the way that takes less
    length wins; on one roll that is also the way with less waste. Equal lengths leave it unturned. A
    piece that fits neither way is printed in panels where they are allowed. Where panels are wanted, a
    piece too wide as it stands is not turned to avoid them.
    """
    width, height = item.printed_width_mm, item.printed_height_mm
    if max(width, height) > LARGEST_SIDE_MM:
        return LayoutProblem(
            "lanes.too-large", {"width_mm": width, "height_mm": height, "most_mm": LARGEST_SIDE_MM}
        )
    upright = _grid(item, width, height, usable_width_mm, gap_mm, rotated=False)
    turned = None
    if item.may_rotate and (upright or item.panels is not Panels.WANTED):
        turned = _grid(item, height, width, usable_width_mm, gap_mm, rotated=True)
    if upright and turned:
        # Rounded to the tolerance, so that noise in the last digits does not turn a piece.
        return turned if round(turned.length_mm, 3) < round(upright.length_mm, 3) else upright
    return upright or turned or _in_panels(item, usable_width_mm, gap_mm)


def _grid(
    item: Item, width_mm: float, height_mm: float, usable_width_mm: float, gap_mm: float, *, rotated: bool
) -> Arrangement | None:
    fitting = copies_across(usable_width_mm, width_mm, gap_mm)
    if not fitting:
        return None
    return _rows(width_mm, height_mm, fitting, item.quantity, gap_mm, rotated=rotated, panels=())


def _in_panels(item: Item, usable_width_mm: float, gap_mm: float) -> Arrangement | LayoutProblem:
    width, height, overlap = item.printed_width_mm, item.printed_height_mm, item.panel_overlap_mm
    sizes = {"width_mm": width, "height_mm": height, "usable_mm": usable_width_mm}
    if item.panels is Panels.FORBIDDEN:
        would_fit_turned = copies_across(usable_width_mm, height, gap_mm) > 0
        return LayoutProblem("lanes.too-wide-upright" if would_fit_turned else "lanes.too-wide", sizes)
    if overlap >= usable_width_mm - TOLERANCE_MM:
        return LayoutProblem("lanes.overlap-too-wide", {"overlap_mm": overlap, "usable_mm": usable_width_mm})
    number = panel_count(width, usable_width_mm, overlap)
    count = number * item.quantity
    if count > MOST_PLACEMENTS:
        return LayoutProblem("lanes.too-many-placements", {"count": count, "most": MOST_PLACEMENTS})
    panel_width = even_panel_width(width, number, overlap)
    panels = tuple(Panel(n, n * (panel_width - overlap), panel_width) for n in range(number))
    fitting = copies_across(usable_width_mm, panel_width, gap_mm)
    return _rows(panel_width, height, fitting, count, gap_mm, rotated=False, panels=panels)


def _rows(
    width_mm: float,
    height_mm: float,
    fitting: int,
    count: int,
    gap_mm: float,
    *,
    rotated: bool,
    panels: tuple[Panel, ...],
) -> Arrangement:
    across = min(fitting, count)
    rows = -(-count // across)
    length = length_for_rows(rows, height_mm, gap_mm)
    return Arrangement(width_mm, height_mm, across, rows, rotated, panels, count, length)
