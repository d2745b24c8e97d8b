"""Boxes and transformation matrices of a ticket, in points as the ticket has them and in mm as they print."""

import math
from dataclasses import dataclass

from ticketbridge.vocabulary.units import mm_from_points

Matrix = tuple[float, float, float, float, float, float]
"""``a b c d e f`` of a CTM: x' = a x + c y + e, y' = b x + d y + f (ISO 32000, coordinate systems)."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with sides along the axes; the unit is the caller's."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From the left to the right edge."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From the bottom to the top edge."""
        return self.top - self.bottom

    def clipped(self, other: "Box") -> "Box":
        """What both boxes share; where they share nothing, width or height is not positive."""
        return Box(
            max(self.left, other.left),
            max(self.bottom, other.bottom),
            min(self.right, other.right),
            min(self.top, other.top),
        )

    def moved(self, x: float, y: float) -> "Box":
        """The same box elsewhere."""
        return Box(self.left + x, self.bottom + y, self.right + x, self.top + y)

    def in_mm(self) -> "Box":
        """A box in points as the same box in mm."""
        return Box(*(mm_from_points(edge) for edge in (self.left, self.bottom, self.right, self.top)))


def numbers(text: str, count: int) -> tuple[float, ...]:
    """Exactly ``count`` finite numbers, separated by white space.

    Raises:
        ValueError: Another count, or something that is no finite number.
    """
    values = tuple(float(word) for word in text.split())
    if len(values) != count or not all(math.isfinite(value) for value in values):
        raise ValueError(f"{text!r} is not {count} numbers")
    return values


def transformed(box: Box, matrix: Matrix) -> Box:
    """The smallest upright box around a transformed one."""
    a, b, c, d, e, f = matrix
    corners = [(x, y) for x in (box.left, box.right) for y in (box.bottom, box.top)]
    xs = [a * x + c * y + e for x, y in corners]
    ys = [b * x + d * y + f for x, y in corners]
    return Box(min(xs), min(ys), max(xs), max(ys))


def turned(matrix: Matrix) -> bool:
    """Whether the content's width runs along the roll."""
    return abs(matrix[1]) > abs(matrix[0])
