"""Search for a short packing: the order in which a filler takes the pieces is changed, bit by bit."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from ticketbridge.decide.layout.packing.chance import Chance
from ticketbridge.decide.layout.packing.problem import Box, Filled, Filler, PackingProblem

_NO_LIMIT: Final = 1 << 80
_PATIENCE: Final = 300
"""So many changes in a row without a gain, and the search begins again from another order."""
_FIRST_SHARE: Final = 16
"""A target takes off this share of what is between the best length and the bound; later ever less."""
_STARTS_KEPT: Final = 8

_KEYS: Final[tuple[Callable[[Box], int], ...]] = (
    lambda box: box[0] * box[1],
    max,
    lambda box: box[0] + box[1],
    lambda box: box[0],
    lambda box: box[1],
)
"""Largest first, by area, longer side, half the girth, width, height: what best-fit methods begin with."""


@dataclass(frozen=True, slots=True)
class Found:
    """A packing in whole numbers.

    Attributes:
        length: To the farthest trailing edge.
        filled: Where every piece lies; nothing where only the length is known.
    """

    length: int
    filled: Sequence[Filled]


class Search:
    """A search that goes on until its steps are used up or the bound is reached.

    A step is one piece placed, so that steps cost alike for few pieces and for many. For every target a little
    below the best length so far the strip is filled up to the target, and what counts is the area of the pieces
    left over: it falls long before the length does, so that the search feels its way.

    Args:
        problem: What is packed.
        fill: How an order becomes a packing.
        bound: The search ends when a packing is as short as this.
        seed: The same seed finds the same packing.
        best: A packing that is to be beaten.
    """

    def __init__(
        self, problem: PackingProblem, fill: Filler, bound: int, seed: int, best: Found | None = None
    ) -> None:
        self._problem = problem
        self._fill = fill
        self._bound = bound
        self._chance = Chance(seed)
        self._best = best or Found(_NO_LIMIT, ())
        self._starts: list[tuple[int, list[int]]] = []
        self._steps_left = 0

    def run(self, steps: int) -> Found:
        """The shortest packing found: at least as short as filling in the usual orders gives."""
        self._steps_left = steps
        shapes = self._problem.shapes
        for key in _KEYS:
            kinds = sorted(range(len(shapes)), key=lambda kind: (-key(shapes[kind][0]), kind))
            self._attempt([kind for kind in kinds for _ in range(self._problem.counts[kind])], _NO_LIMIT)
        self._starts.sort()
        start, share = 0, _FIRST_SHARE
        while self._goes_on():
            _, order = self._starts[start % len(self._starts)]
            self._improve(order, share)
            start += 1
            share *= 2
            if share * self._problem.step > 2 * (self._best.length - self._bound):
                share = _FIRST_SHARE
        return self._best

    def _goes_on(self) -> bool:
        return self._steps_left > 0 and self._best.length > self._bound

    def _improve(self, order: list[int], share: int) -> None:
        """Change an order until nothing is gained any more."""
        target = self._target(share)
        left_over, without_gain = self._attempt(order, target), 0
        while self._goes_on() and without_gain < _PATIENCE:
            if left_over == 0:
                target = self._target(share)
                left_over, without_gain = self._attempt(order, target), 0
            changed = self._changed(order)
            then_left_over = self._attempt(changed, target)
            without_gain = 0 if then_left_over < left_over else without_gain + 1
            if 0 < then_left_over < left_over:
                self._attempt(changed, self._best.length - self._problem.step)
            if then_left_over <= left_over:
                order, left_over = changed, then_left_over

    def _target(self, share: int) -> int:
        """A length below the best so far, as a multiple of the step."""
        best, step = self._best.length, self._problem.step
        return best - step * max(1, (best - self._bound) // (share * step))

    def _changed(self, order: Sequence[int]) -> list[int]:
        """Two pieces swapped, or one moved."""
        below, changed = self._chance.below, list(order)
        one, other = below(len(changed)), below(len(changed))
        if below(2):
            changed[one], changed[other] = changed[other], changed[one]
        else:
            changed.insert(other, changed.pop(one))
        return changed

    def _attempt(self, order: list[int], limit: int) -> int:
        """Area of the pieces that find no room below a limit; where all do, the packing is kept if it is better."""
        left_over, filled = self._fill(self._problem, order, limit)
        self._steps_left -= len(order)
        if left_over:
            areas = self._problem.areas
            return sum([areas[kind] for kind in left_over])
        length = self._problem.length_of(filled)
        if length < self._best.length:
            self._best = Found(length, filled)
        if limit == _NO_LIMIT or length == self._best.length:
            self._starts = [(length, order), *self._starts[: _STARTS_KEPT - 1]]
        return 0
