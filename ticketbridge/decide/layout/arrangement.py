"""An arrangement: rows of equal slots on a usable width, before anything is placed."""

from collections.abc import Iterator
from dataclasses import dataclass

from ticketbridge.model.layout import Panel
from ticketbridge.model.marks import NO_MARKS, Marks


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Rows of equal slots, each with a piece or a panel and the room of its marks.

    Attributes:
        width_mm: Size of one piece, or of the widest panel, across the roll, bleed included.
        height_mm: Its size along the roll.
        across: Beside each other in a full row.
        rows: Rows along the roll; the last may be partly filled.
        rotated: Whether pieces are turned by 90 degrees.
        panels: The panels of one piece; empty where a piece is whole.
        count: Pieces, or panels of all pieces.
        length_mm: From the first leading edge to the last trailing edge, marks included.
        marks: The marks that room is left for.
        pitch_mm: Where the drops of a pattern are printed in one go: from one to the next; otherwise None.
        other_rows: How many of the rows, the last ones, have their pieces the other way round.
        other_across: Beside each other in a full row of those.
    """

    width_mm: float
    height_mm: float
    across: int
    rows: int
    rotated: bool
    panels: tuple[Panel, ...]
    count: int
    length_mm: float
    marks: Marks = NO_MARKS
    pitch_mm: float | None = None
    other_rows: int = 0
    other_across: int = 0

    @property
    def slot_width_mm(self) -> float:
        """Width of a slot: the piece and a margin for its marks on both sides."""
        return self.width_mm + 2 * self.marks.margin_mm

    @property
    def slot_height_mm(self) -> float:
        """Height of a slot: the piece, a margin on both sides, and the slug line."""
        return slot_height_mm(self.height_mm, self.marks)

    @property
    def other_slot_height_mm(self) -> float:
        """Height of a slot with the piece the other way round."""
        return slot_height_mm(self.width_mm, self.marks)

    @property
    def usual_rows(self) -> int:
        """Rows before those with the pieces the other way round."""
        return self.rows - self.other_rows

    def begin_of_row_mm(self, row: int, gap_mm: float) -> float:
        """Where a row begins, marks included, rows counted from 0."""
        if self.pitch_mm is not None:
            drops = len(self.panels)
            wall_mm = (drops - 1) * self.pitch_mm + self.slot_height_mm
            return row // drops * (wall_mm + gap_mm) + row % drops * self.pitch_mm
        others = max(0, row - self.usual_rows)
        usual_mm = (row - others) * (self.slot_height_mm + gap_mm)
        return usual_mm + others * (self.other_slot_height_mm + gap_mm) if others else usual_mm

    def bands_mm(self, gap_mm: float) -> Iterator[tuple[float, float]]:
        """Where each row begins and ends, marks included."""
        for row in range(self.rows):
            begin_mm = self.begin_of_row_mm(row, gap_mm)
            height_mm = self.slot_height_mm if row < self.usual_rows else self.other_slot_height_mm
            yield begin_mm, begin_mm + height_mm


def slot_height_mm(height_mm: float, marks: Marks) -> float:
    """Height of a slot for a piece or panel of a height: a margin on both sides, and the slug line."""
    return height_mm + 2 * marks.margin_mm + marks.slug_mm
