"""From an arrangement to a layout: every piece at its place."""

from ticketbridge.decide.layout.arrange import Arrangement, arrange
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.model.layout import Layout, Placement
from ticketbridge.model.order import Item


def lay_out(
    item: Item,
    usable_width_mm: float,
    roll_width_mm: float,
    gap_mm: float,
    leader_mm: float,
    trailer_mm: float,
) -> Layout | LayoutProblem:
    """Lay an item out on a roll, or say why it cannot be.

    Args:
        item: What to print; its printed size has the bleed on all four sides.
        usable_width_mm: Width that may be printed, between the margins.
        roll_width_mm: Full width of the roll, which is what is used up.
        gap_mm: Free distance between neighbours; the outer edges need none.
        leader_mm: Unprinted length before the first piece.
        trailer_mm: Unprinted length after the last.
    """
    arrangement = arrange(item, usable_width_mm, gap_mm)
    if isinstance(arrangement, LayoutProblem):
        return arrangement
    return place(arrangement, item, usable_width_mm, roll_width_mm, gap_mm, leader_mm, trailer_mm)


def place(
    arrangement: Arrangement,
    item: Item,
    usable_width_mm: float,
    roll_width_mm: float,
    gap_mm: float,
    leader_mm: float,
    trailer_mm: float,
) -> Layout:
    """The layout of an arrangement; the arguments are those of ``lay_out``."""
    return Layout(
        usable_width_mm=usable_width_mm,
        roll_width_mm=roll_width_mm,
        across=arrangement.across,
        rows=arrangement.rows,
        rotated=arrangement.rotated,
        panels=arrangement.panels,
        placements=_placements(arrangement, gap_mm),
        length_mm=arrangement.length_mm,
        leader_mm=leader_mm,
        trailer_mm=trailer_mm,
        image_left_mm=0.0,
        image_width_mm=(arrangement.across - 1) * (arrangement.width_mm + gap_mm) + arrangement.width_mm,
        piece_area_mm2=item.quantity * item.finished_width_mm * item.finished_height_mm,
    )


def _placements(arrangement: Arrangement, gap_mm: float) -> tuple[Placement, ...]:
    """Row by row, piece after piece, the panels of a piece by rising column.

    Neighbouring panels come out one after the other, so that they are printed under the same conditions
    and their colours meet at the weld.
    """
    width, height, rotated = arrangement.width_mm, arrangement.height_mm, arrangement.rotated
    across, per_piece = arrangement.across, len(arrangement.panels) or 1
    pitch_x, pitch_y = width + gap_mm, height + gap_mm
    return tuple(
        [
            Placement(
                n // per_piece,
                n % per_piece,
                n % across * pitch_x,
                n // across * pitch_y,
                width,
                height,
                rotated,
            )
            for n in range(arrangement.count)
        ]
    )
