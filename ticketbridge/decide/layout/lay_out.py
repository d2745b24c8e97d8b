"""From an arrangement to a layout: every piece at its place."""

from ticketbridge.decide.layout.arrange import arrange
from ticketbridge.decide.layout.arrangement import Arrangement
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.model.layout import Layout, Placement
from ticketbridge.model.marks import NO_MARKS, Marks
from ticketbridge.model.order import Item


def lay_out(
    item: Item,
    usable_width_mm: float,
    roll_width_mm: float,
    gap_mm: float,
    leader_mm: float,
    trailer_mm: float,
    marks: Marks = NO_MARKS,
) -> Layout | LayoutProblem:
    """Lay an item out on a roll, or say why it cannot be.

    Args:
        item: What to print; its printed size has the bleed on all four sides.
        usable_width_mm: Width that may be printed, between the margins.
        roll_width_mm: Full width of the roll, which is what is used up.
        gap_mm: Free distance between neighbours; the outer edges need none.
        leader_mm: Unprinted length before the first piece.
        trailer_mm: Unprinted length after the last.
        marks: Marks that are printed beside the pieces, in room of their own.
    """
    arrangement = arrange(item, usable_width_mm, gap_mm, marks)
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
    placements = _placements(arrangement, gap_mm)
    return Layout(
        usable_width_mm=usable_width_mm,
        roll_width_mm=roll_width_mm,
        across=arrangement.across,
        rows=arrangement.rows,
        rotated=arrangement.rotated,
        panels=arrangement.panels,
        placements=placements,
        length_mm=arrangement.length_mm,
        leader_mm=leader_mm,
        trailer_mm=trailer_mm,
        image_left_mm=0.0,
        image_width_mm=max(placed.x_mm + placed.width_mm for placed in placements)
        + arrangement.marks.margin_mm,
        piece_area_mm2=item.quantity * item.finished_width_mm * item.finished_height_mm,
        marks=arrangement.marks,
        pitch_mm=arrangement.pitch_mm,
        other_rows=arrangement.other_rows,
    )


def _placements(arrangement: Arrangement, gap_mm: float) -> tuple[Placement, ...]:
    """Row by row, piece after piece, the panels of a piece by rising column.

    Neighbouring panels come out one after the other, so that they are printed under the same conditions
    and their colours meet at the weld.
    """
    if arrangement.pitch_mm is not None:
        return _in_one_go(arrangement, arrangement.pitch_mm, gap_mm)
    if arrangement.other_rows:
        return _mixed(arrangement, gap_mm)
    height, rotated = arrangement.height_mm, arrangement.rotated
    across, margin = arrangement.across, arrangement.marks.margin_mm
    widths = [panel.width_mm for panel in arrangement.panels] or [arrangement.width_mm]
    pitch_x, pitch_y = arrangement.slot_width_mm + gap_mm, arrangement.slot_height_mm + gap_mm
    return tuple(
        [
            Placement(
                n // len(widths),
                n % len(widths),
                n % across * pitch_x + margin,
                n // across * pitch_y + margin,
                widths[n % len(widths)],
                height,
                rotated,
            )
            for n in range(arrangement.count)
        ]
    )


def _mixed(arrangement: Arrangement, gap_mm: float) -> tuple[Placement, ...]:
    """Pieces in rows of both ways round; only the very last row may be partly filled."""
    placements = list[Placement]()
    for row in range(arrangement.rows):
        usual = row < arrangement.usual_rows
        across = arrangement.across if usual else arrangement.other_across
        sizes = arrangement.width_mm, arrangement.height_mm
        width, height = sizes if usual else sizes[::-1]
        margin = arrangement.marks.margin_mm
        leading = arrangement.begin_of_row_mm(row, gap_mm) + margin
        for column in range(min(across, arrangement.count - len(placements))):
            left = column * (width + 2 * margin + gap_mm) + margin
            rotated = arrangement.rotated is usual
            placements.append(Placement(len(placements), 0, left, leading, width, height, rotated))
    return tuple(placements)


def _in_one_go(arrangement: Arrangement, pitch_mm: float, gap_mm: float) -> tuple[Placement, ...]:
    """The drops of a repeating pattern: print goes on from one to the next, so all but the last have the pitch."""
    margin, drops = arrangement.marks.margin_mm, len(arrangement.panels)
    run = (drops - 1) * pitch_mm + arrangement.height_mm
    slot = run + 2 * margin + arrangement.marks.slug_mm
    return tuple(
        Placement(
            piece,
            panel.column,
            margin,
            piece * (slot + gap_mm) + margin + panel.column * pitch_mm,
            panel.width_mm,
            pitch_mm if panel.column < drops - 1 else arrangement.height_mm,
            rotated=False,
        )
        for piece in range(arrangement.count // drops)
        for panel in arrangement.panels
    )
