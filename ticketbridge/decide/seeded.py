"""PURE: numbers that look like chance and are the same for the same seed, for searches that must be repeatable.

Not for secrets. A linear congruential generator of 64 bits, of which only the upper ones are given out, as the
lower ones repeat soon. Multiplier and increment are those Knuth gives for MMIX (The Art of Computer
Programming, volume 2, section 3.3.4; from memory).
"""

from collections.abc import Sequence
from typing import Final, TypeVar

_T = TypeVar("_T")

_MULTIPLIER: Final = 6364136223846793005
_INCREMENT: Final = 1442695040888963407
_MASK: Final = 2**64 - 1
_UPPER_BITS: Final = 31
_UPPER: Final = 1 << _UPPER_BITS


class Seeded:
    """A stream of numbers that the seed alone decides."""

    __slots__ = ("_state",)

    def __init__(self, seed: int) -> None:
        self._state = seed & _MASK
        for _ in range(4):  # small seeds differ in low bits only; let them spread
            self.below(1)

    def below(self, n: int) -> int:
        """A whole number from 0 to n - 1; n is at most 2**31."""
        self._state = (self._state * _MULTIPLIER + _INCREMENT) & _MASK
        return (self._state >> 33) * n >> _UPPER_BITS

    def fraction(self) -> float:
        """A number from 0 up to, not including, 1."""
        return self.below(_UPPER) / _UPPER

    def shuffled(self, things: Sequence[_T]) -> list[_T]:
        """The things in an order of chance, each order as likely (Fisher and Yates)."""
        order = list(things)
        for last in range(len(order) - 1, 0, -1):
            other = self.below(last + 1)
            order[last], order[other] = order[other], order[last]
        return order
