"""A chance that can be repeated: the same seed draws the same numbers on every machine and every Python."""

from typing import Final

_MULTIPLIER: Final = 6_364_136_223_846_793_005
_INCREMENT: Final = 1_442_695_040_888_963_407
_MASK: Final = (1 << 64) - 1


class Chance:
    """A linear congruential generator modulo 2^64, of which the upper half is used.

    Multiplier and increment are those Knuth gives for his MMIX machine (from memory). Good enough to shuffle
    pieces with; no good for anything that someone would want to guess.
    """

    __slots__ = ("_state",)

    def __init__(self, seed: int) -> None:
        self._state = (seed * _MULTIPLIER + _INCREMENT) & _MASK

    def below(self, limit: int) -> int:
        """A number from 0 to one less than the limit."""
        self._state = state = (self._state * _MULTIPLIER + _INCREMENT) & _MASK
        return (state >> 32) % limit
