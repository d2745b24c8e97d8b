"""The stock of rolls: every roll the shop has or had, and where it is."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from ticketbridge.model.substrate import Roll


class Whereabouts(StrEnum):
    """Where a roll is."""

    SHELF = "shelf"
    LANE = "lane"
    GONE = "gone"
    """Used up, or given away."""


@dataclass(frozen=True, slots=True)
class StockRoll:
    """One roll of the stock.

    Attributes:
        roll: Which, with what is left on it by account.
        where: The kind of place.
        device_id: The lane, where it is on one.
        placed_at: Since when it has been there.
        measured_diameter_mm: Its outer diameter when it was last measured; None where nobody did.
        measured_at: When that was.
    """

    roll: Roll
    where: Whereabouts
    device_id: str | None
    placed_at: datetime
    measured_diameter_mm: float | None = None
    measured_at: datetime | None = None

    @property
    def place(self) -> str:
        """The place in a word: the lane's DeviceID, shelf or gone."""
        return self.device_id or self.where.value
