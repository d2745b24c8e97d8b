"""A packing problem in whole numbers, as the inner loops want it."""

from collections.abc import Callable, Sequence
from math import gcd

Box = tuple[int, int]
"""Width across the roll and height along it, the gap to the next piece included."""

Filled = tuple[int, int, int, int]
"""A kind of piece, which of its shapes, and where its left and its leading edge lie."""

Filler = Callable[["PackingProblem", Sequence[int], int], tuple[list[int], list[Filled]]]
"""Fills the strip up to a limit, with pieces in an order; answers those left over and those placed."""


class PackingProblem:
    """Boxes to be laid on a strip of a width, as little along it as can be.

    Pieces of the same shapes are one kind. An order of the pieces names the kind of each, so that it has every
    kind as often as there are pieces of it.

    Attributes:
        width: Of the strip.
        shapes: For each kind the ways that a piece of it may lie.
        counts: For each kind how many pieces there are.
        areas: For each kind the area of a piece; the smallest where its shapes differ.
        by_width: For each width the shapes that have it: height, kind, number of the shape.
        by_height: For each height the shapes that have it: width, kind, number of the shape.
        step: All heights are multiples of it, so all lengths are.
    """

    __slots__ = ("areas", "by_height", "by_width", "counts", "shapes", "step", "width")

    def __init__(
        self, width: int, shapes: Sequence[Sequence[Box]], counts: Sequence[int] | None = None
    ) -> None:
        self.width = width
        self.shapes = [tuple(ways) for ways in shapes]
        self.counts = list(counts) if counts is not None else [1] * len(self.shapes)
        self.areas = [min(w * h for w, h in ways) for ways in self.shapes]
        self.step = gcd(*(height for ways in self.shapes for _, height in ways))
        self.by_width: dict[int, list[tuple[int, int, int]]] = {}
        self.by_height: dict[int, list[tuple[int, int, int]]] = {}
        for kind, ways in enumerate(self.shapes):
            for number, (shape_width, shape_height) in enumerate(ways):
                self.by_width.setdefault(shape_width, []).append((shape_height, kind, number))
                self.by_height.setdefault(shape_height, []).append((shape_width, kind, number))

    def length_of(self, filled: Sequence[Filled]) -> int:
        """The farthest trailing edge."""
        return max(leading + self.shapes[kind][shape][1] for kind, shape, _, leading in filled)

    def up_to_step(self, length: int) -> int:
        """The smallest length that can be, not below the given one."""
        return -(-length // self.step) * self.step
