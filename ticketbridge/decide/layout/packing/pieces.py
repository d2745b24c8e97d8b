"""What is packed and what comes of it, in millimetres."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from ticketbridge.decide.layout.formulas import length_for_rows


class Cutting(Enum):
    """How the pieces come off the roll."""

    FREE = "free"
    """One by one, by hand or on a table: any layout will do."""
    GUILLOTINE = "guillotine"
    """By cuts from edge to edge of what is left, as a slitter and a cross-cutter make them."""


@dataclass(frozen=True, slots=True)
class Part:
    """A panel within a set of panels.

    Attributes:
        x_mm: Left edge, from the left edge of the set.
        y_mm: Leading edge, from the leading edge of the set.
        width_mm: Its width.
        height_mm: Its size along the roll.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Shape:
    """One way that a piece may lie.

    Attributes:
        width_mm: Size across the roll.
        height_mm: Size along it.
        turned: Whether the piece is turned by 90 degrees.
        parts: The panels of a set, in their order; empty for a piece that is whole.
    """

    width_mm: float
    height_mm: float
    turned: bool = False
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """Something to be placed once.

    Attributes:
        shapes: The ways it may lie; the first is the way it stands.
    """

    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """What is packed on; its length is what is asked for.

    Attributes:
        width_mm: Width that may be used.
        gap_mm: Free distance between neighbours, in both directions; the edges need none.
        cutting: How the pieces come off it.
    """

    width_mm: float
    gap_mm: float = 0.0
    cutting: Cutting = Cutting.FREE


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece at its place.

    Attributes:
        shape: The way it lies.
        x_mm: Left edge on the strip.
        y_mm: Leading edge on the strip.
    """

    shape: Shape
    x_mm: float
    y_mm: float

    @property
    def parts(self) -> tuple[Part, ...]:
        """The piece, or every panel of its set, with its place on the strip."""
        whole = (Part(0.0, 0.0, self.shape.width_mm, self.shape.height_mm),)
        return tuple(
            Part(self.x_mm + part.x_mm, self.y_mm + part.y_mm, part.width_mm, part.height_mm)
            for part in self.shape.parts or whole
        )


@dataclass(frozen=True, slots=True)
class Packing:
    """All pieces at their places.

    Attributes:
        placed: In the order of the pieces.
        length_mm: From the leading edge of the first to the trailing edge of the last.
        bound_mm: No packing is shorter than this; equal to the length where the packing is the best there is.
    """

    placed: tuple[Placed, ...]
    length_mm: float
    bound_mm: float


def whole_piece(width_mm: float, height_mm: float, *, may_turn: bool = False) -> Piece:
    """A piece in one, as it stands and, where it may be turned, the other way."""
    upright = Shape(width_mm, height_mm)
    if not may_turn or width_mm == height_mm:
        return Piece((upright,))
    return Piece((upright, Shape(height_mm, width_mm, turned=True)))


def panel_set(widths_mm: Sequence[float], height_mm: float, strip: Strip) -> Piece:
    """The panels of one piece, kept together and in order: rows of them, with nothing in between.

    So they are printed one after the other, and their colours meet at the weld. They are never turned. How many
    stand in a row is left to the packing.
    """
    shapes = [_rows_of(across, widths_mm, height_mm, strip.gap_mm) for across in range(1, len(widths_mm) + 1)]
    fitting = [shape for shape in shapes if shape.width_mm <= strip.width_mm]
    return Piece(tuple(fitting or shapes[:1]))


def _rows_of(across: int, widths_mm: Sequence[float], height_mm: float, gap_mm: float) -> Shape:
    parts, rows = list[Part](), 0
    for first in range(0, len(widths_mm), across):
        left = 0.0
        for width in widths_mm[first : first + across]:
            parts.append(Part(left, rows * (height_mm + gap_mm), width, height_mm))
            left += width + gap_mm
        rows += 1
    widest = max(part.x_mm + part.width_mm for part in parts)
    return Shape(widest, length_for_rows(rows, height_mm, gap_mm), parts=tuple(parts))
