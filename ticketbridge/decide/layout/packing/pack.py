"""Pieces of different sizes on a strip, as short as it can be found."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor
from typing import Final

from ticketbridge.decide.layout.packing.bounds import length_bound
from ticketbridge.decide.layout.packing.exact import shortest
from ticketbridge.decide.layout.packing.guillotine import fill_by_guillotine
from ticketbridge.decide.layout.packing.pieces import Cutting, Packing, Piece, Placed, Shape, Strip
from ticketbridge.decide.layout.packing.problem import Box, PackingProblem
from ticketbridge.decide.layout.packing.search import Found, Search
from ticketbridge.decide.layout.packing.skyline import fill_by_skyline

_GRAINS_PER_MM: Final = 100_000
"""Sizes become whole numbers of 10 nm."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search, counted in steps so that the same question has the same answer everywhere.

    With pieces that may be turned it is spent twice, without and with turning.

    Attributes:
        steps: Pieces placed during the search, each time anew; none: only what the usual orders give.
        branches: Branches of the exact method, which goes on where the search ends. It answers up to some twenty
            pieces; guillotine cuts it does not know.
        seed: The same seed gives the same packing.
    """

    steps: int
    branches: int = 0
    seed: int = 1


QUICK: Final = Effort(steps=8_000)
"""Some hundredths of a second: for an order that comes in."""

THOROUGH: Final = Effort(steps=200_000, branches=10_000)
"""A second or two: for a roll that somebody is about to print."""


class DoesNotFit(ValueError):
    """A piece is wider than the strip in every way that it may lie.

    Attributes:
        piece: Its number.
    """

    def __init__(self, piece: int, width_mm: float) -> None:
        super().__init__(f"piece {piece + 1} fits a strip of {width_mm:g} mm no way")
        self.piece = piece


def pack(pieces: Sequence[Piece], strip: Strip, effort: Effort = QUICK) -> Packing:
    """A short packing of the pieces.

    Where pieces may be turned, it is the better of a packing that turns none unless it must and one that turns
    where it helps; so leave to turn never costs length.

    Raises:
        DoesNotFit: A piece is too wide.
        ValueError: There are no pieces.
    """
    if not pieces:
        raise ValueError("there is nothing to pack")
    upright = _WholeNumbers([_upright(piece, strip) for piece in pieces], strip)
    found, bound = _shortest(upright.problem, strip.cutting, effort, None)
    packing = upright.packing(found, bound)
    whole = _WholeNumbers(pieces, strip)
    if whole.has_choice:
        # Only the length is handed on, to be beaten: the kinds of pieces are others.
        better, bound = _shortest(whole.problem, strip.cutting, effort, Found(found.length, ()))
        packing = whole.packing(better, bound) if better.filled else whole.bounded(packing, bound)
    return packing


def _upright(piece: Piece, strip: Strip) -> Piece:
    """A piece that only lies the first way that fits."""
    fitting = [way for way in piece.shapes if _grains(way.width_mm) <= _grains(strip.width_mm)]
    return Piece(tuple(fitting[:1]))


def _shortest(
    problem: PackingProblem, cutting: Cutting, effort: Effort, known: Found | None
) -> tuple[Found, int]:
    """The best of a search and the exact method, and its bound."""
    bound = length_bound(problem)
    if cutting is Cutting.GUILLOTINE:
        return Search(problem, fill_by_guillotine, bound, effort.seed, known).run(effort.steps), bound
    found = Search(problem, fill_by_skyline, bound, effort.seed, known).run(effort.steps)
    return shortest(problem, found, bound, effort.branches)


class _WholeNumbers:
    """The pieces as kinds of boxes of whole numbers, their gap included, and the way back.

    Raises:
        DoesNotFit: A piece has no shape that fits.
    """

    def __init__(self, pieces: Sequence[Piece], strip: Strip) -> None:
        self._gap = _grains(strip.gap_mm)
        width = _grains(strip.width_mm)
        self._ways: list[tuple[Shape, ...]] = []
        self._kinds: dict[tuple[Box, ...], list[int]] = {}
        for number, piece in enumerate(pieces):
            ways = tuple(way for way in piece.shapes if _grains(way.width_mm) <= width)
            if not ways:
                raise DoesNotFit(number, strip.width_mm)
            self._ways.append(ways)
            self._kinds.setdefault(tuple(self._box(way) for way in ways), []).append(number)
        counts = [len(alike) for alike in self._kinds.values()]
        self.problem = PackingProblem(width + self._gap, list(self._kinds), counts)

    @property
    def has_choice(self) -> bool:
        """Whether any piece may lie in more than one way."""
        return any(len(ways) > 1 for ways in self._ways)

    def packing(self, found: Found, bound: int) -> Packing:
        """The way back to millimetres: pieces that are alike take their places in turn."""
        waiting = [iter(alike) for alike in self._kinds.values()]
        placed = {}
        for kind, shape, left, leading in found.filled:
            piece = next(waiting[kind])
            way = self._ways[piece][shape]
            placed[piece] = Placed(way, left / _GRAINS_PER_MM, leading / _GRAINS_PER_MM)
        in_order = tuple(placed[piece] for piece in range(len(self._ways)))
        return self.bounded(Packing(in_order, self._length_mm(found.length), 0.0), bound)

    def bounded(self, packing: Packing, bound: int) -> Packing:
        """A packing with the bound of this problem."""
        return replace(packing, bound_mm=self._length_mm(bound))

    def _length_mm(self, length: int) -> float:
        return (length - self._gap) / _GRAINS_PER_MM

    def _box(self, way: Shape) -> Box:
        return _grains(way.width_mm) + self._gap, _grains(way.height_mm) + self._gap


def _grains(size_mm: float) -> int:
    """Rounded down, so that what fits beside each other still does, but not by the noise of floating point.

    A hundred pieces beside each other lose less than a micrometre, which is what layouts call exact.
    """
    return floor(size_mm * _GRAINS_PER_MM + 0.01)
