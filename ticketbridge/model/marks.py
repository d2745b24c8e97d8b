"""Marks that are printed beside the pieces, for those who cut, join and finish them."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from ticketbridge.model.substrate import FromOutside, Positive

CUT_MARK_MM: Final = 5.0
"""Length of a cut mark (common practice)."""

CUT_MARK_DISTANCE_MM: Final = 1.0
"""Free between the printed edge and a cut mark, so that none of it stays on the cut piece."""

MODULE_MM: Final = 0.5
"""Narrowest bar of a barcode: coarse enough for a draft mode, and read from an arm's length."""

QUIET_MODULES: Final = 10
"""Free on both sides of a barcode, in modules (ISO/IEC 15417)."""


class Marks(FromOutside):
    """Which marks a lane prints. They take room: layouts leave it."""

    slug_line: bool = False
    """A line after each piece or panel: job, number, and a barcode of queue entry and piece."""
    slug_height_mm: Positive = 12
    """Height of that line along the roll."""
    cut: bool = False
    """Cut marks at the corners of the cut size, outside the printed edge."""
    eyelets: bool = False
    """A mark where each eyelet goes."""

    @property
    def margin_mm(self) -> float:
        """Room that marks need around a piece."""
        return CUT_MARK_DISTANCE_MM + CUT_MARK_MM if self.cut else 0.0

    @property
    def slug_mm(self) -> float:
        """Room that the slug line needs after a piece."""
        return self.slug_height_mm if self.slug_line else 0.0


NO_MARKS: Final = Marks()


class MarkKind(StrEnum):
    """What a mark is for."""

    SLUG_LINE = "slug line"
    CUT = "cut"
    EYELET = "eyelet"


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark on the roll, in the coordinates of the layout.

    Attributes:
        kind: What it is for.
        x_mm: Left edge of its box.
        y_mm: Leading edge of its box.
        width_mm: Size across the roll.
        height_mm: Size along the roll.
        at_mm: The point that a cut or eyelet mark means: the corner, the centre.
        outward: For a cut mark where the waste lies: -1 left or leading, 1 right or trailing, 0 neither.
        text: What a slug line says.
        barcode: What its barcode says, at its right end before a quiet zone; empty where there is no room for one.
        bars: Widths of the barcode's bars and spaces in modules, a bar first.
    """

    kind: MarkKind
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    at_mm: tuple[float, float] = (0.0, 0.0)
    outward: tuple[int, int] = (0, 0)
    text: str = ""
    barcode: str = ""
    bars: tuple[int, ...] = ()

    @property
    def barcode_mm(self) -> float:
        """Width of the barcode, without its quiet zones."""
        return sum(self.bars) * MODULE_MM

    @property
    def barcode_left_mm(self) -> float:
        """Left edge of the barcode's first bar."""
        return self.x_mm + self.width_mm - QUIET_MODULES * MODULE_MM - self.barcode_mm
