"""The cuts that take pieces off a roll, in the coordinates of the layout."""

from dataclasses import dataclass
from enum import StrEnum

from ticketbridge.model.layout import Placement


class Direction(StrEnum):
    """Which way a cut runs."""

    ACROSS = "across"
    """From edge to edge of the roll, or of the part that came off before."""
    ALONG = "along"
    """In the direction of the feed."""


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut.

    Attributes:
        direction: Which way it runs.
        at_mm: Its place: across, from the start of the print; along, from the left end of the usable width.
        begin_mm: Where it begins, along its way.
        end_mm: Where it ends.
    """

    direction: Direction
    at_mm: float
    begin_mm: float
    end_mm: float


@dataclass(frozen=True, slots=True)
class CutList:
    """All cuts in their order.

    Attributes:
        cuts: A part is cut up before the next one is begun, so the order is that of the roll.
        by_hand: Groups of pieces that no cut from edge to edge parts.
    """

    cuts: tuple[Cut, ...]
    by_hand: tuple[tuple[Placement, ...], ...]
