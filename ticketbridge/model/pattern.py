"""How a wallcovering is printed: as a mural in drops, or as a pattern that repeats by the roll."""

from enum import StrEnum

from pydantic import model_validator

from ticketbridge.model.substrate import FromOutside, Positive


class Match(StrEnum):
    """How neighbouring drops meet."""

    NONE = "none"
    """A mural: each drop is printed at its own phase, so nothing is wasted for the match."""
    STRAIGHT = "straight"
    """Every drop begins at the same place of the repeat."""
    HALF_DROP = "half-drop"
    """Every other drop begins half a repeat lower."""


class Drops(StrEnum):
    """How the drops of a pattern that repeats are printed."""

    CONTINUOUS = "continuous"
    """On from drop to drop, as a roll of it would be: any length can be cut, the match costs waste."""
    NUMBERED = "numbered"
    """Each by itself, from its own place of the repeat and as high as the wall: no waste for the match."""


class Pattern(FromOutside):
    """The pattern of a wallcovering. The item's size is the wall's, trim allowance as its bleed."""

    match: Match = Match.NONE
    repeat_mm: Positive | None = None
    """Height of the repeat; needed for a straight match and a half drop."""
    drops: Drops = Drops.CONTINUOUS
    """How a pattern that repeats is printed; a mural is always printed in numbered drops."""
    strip_mm: Positive | None = None
    """Width of a drop; where none is given, the printable width of the roll."""

    @model_validator(mode="after")
    def _repeats(self) -> "Pattern":
        if (self.match is Match.NONE) is not (self.repeat_mm is None):
            raise ValueError("a straight match and a half drop need repeat_mm, a mural has none")
        return self
