"""The stock of rolls in the store: where each is, what is left of it, what is wrong with it."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from sqlalchemy import func, insert, select, update

from ticketbridge.model.job import as_moment, as_text
from ticketbridge.model.stock import StockRoll, Whereabouts
from ticketbridge.model.substrate import Flaw, Roll
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import ROLL

_STOCK: Final = select(ROLL).order_by(ROLL.c.substrate, ROLL.c.lot, ROLL.c.number)
"""Asked for every ticket, so put together once."""


class RollStatements(Statements):
    """The statements about rolls, inside one transaction."""

    def stock(self) -> list[StockRoll]:
        """Every roll the shop has or had, by substrate, lot and number."""
        return self._rolls_found()

    def rolls(self) -> dict[str, Roll]:
        """The roll on each lane, by the lane's DeviceID."""
        return {one.device_id: one.roll for one in self._rolls_found() if one.device_id is not None}

    def shelf(self) -> tuple[Roll, ...]:
        """The rolls on the shelf."""
        return tuple(one.roll for one in self._rolls_found(ROLL.c.place == Whereabouts.SHELF))

    def rolls_of_lot(self, lot: str) -> list[StockRoll]:
        """All rolls of a lot, by number."""
        return self._rolls_found(ROLL.c.lot == lot)

    def roll_on(self, device_id: str) -> StockRoll | None:
        """The roll on a lane."""
        return next(iter(self._rolls_found(ROLL.c.device_id == device_id)), None)

    def receive_roll(self, roll: Roll, at: datetime) -> None:
        """A roll that the stock does not have yet, onto the shelf."""
        self._connection.execute(
            insert(ROLL),
            {
                **_columns(roll),
                "place": Whereabouts.SHELF,
                "device_id": None,
                "placed_at": as_text(at),
                "at": as_text(at),
            },
        )

    def next_roll_number(self, lot: str) -> int:
        """The first number that no roll of the lot has."""
        highest = select(func.coalesce(func.max(ROLL.c.number), 0)).where(ROLL.c.lot == lot)
        return int(self._connection.execute(highest).scalar_one()) + 1

    def load_roll(self, device_id: str, roll: Roll, at: datetime) -> Roll:
        """A roll was put on a lane; one that was there goes to the shelf, or is gone where nothing is left.

        A roll that the stock knows keeps its own account, whatever is said of it here.

        Returns:
            The roll as it is on the lane now.
        """
        there = self.roll_on(device_id)
        if there is not None and there.roll.identity != roll.identity:
            self.take_off(device_id, at)
        if self._find(roll.identity) is None:
            self.receive_roll(roll, at)
        if there is None or there.roll.identity != roll.identity:
            self._change(roll, at, place=Whereabouts.LANE, device_id=device_id, placed_at=as_text(at))
        return self.rolls()[device_id]

    def take_off(self, device_id: str, at: datetime, *, gone: bool = False) -> None:
        """The roll comes off its lane: to the shelf, or gone where it is used up or said to be."""
        there = self.roll_on(device_id)
        if there is not None:
            place = Whereabouts.GONE if gone or there.roll.length_left_m <= 0 else Whereabouts.SHELF
            self._change(there.roll, at, place=place, device_id=None, placed_at=as_text(at))

    def use_roll(self, device_id: str, length_m: float, at: datetime) -> float:
        """Take used length off the account of the roll on a lane; its flaws come nearer.

        Returns:
            The length left, never below zero; zero where no roll is on record.
        """
        there = self.roll_on(device_id)
        if there is None:
            return 0.0
        left = there.roll.used(length_m * 1000)
        self.correct_roll(left, at)
        return left.length_left_m

    def correct_roll(self, roll: Roll, at: datetime) -> None:
        """Another account of a roll: its length left, its core, its flaws."""
        self._change(roll, at, **_columns(roll))

    def note_diameter(self, roll: Roll, diameter_mm: float, at: datetime) -> None:
        """The outer diameter as a person measured it."""
        self._change(roll, at, measured_diameter_mm=diameter_mm, measured_at=as_text(at))

    def _find(self, identity: tuple[str, int]) -> StockRoll | None:
        lot, number = identity
        return next(iter(self._rolls_found(ROLL.c.lot == lot, ROLL.c.number == number)), None)

    def _rolls_found(self, *conditions: Any) -> list[StockRoll]:
        rows = self._connection.execute(_STOCK.where(*conditions) if conditions else _STOCK)
        return [_stock_roll(dict(row)) for row in rows.mappings()]

    def _change(self, roll: Roll, at: datetime, **changes: Any) -> None:
        self._connection.execute(
            update(ROLL)
            .where(ROLL.c.lot == roll.lot, ROLL.c.number == roll.number)
            .values(**changes, at=as_text(at))
        )


def _columns(roll: Roll) -> dict[str, Any]:
    return roll.model_dump() | {"flaws": [flaw.model_dump() for flaw in roll.flaws]}


def _stock_roll(row: Mapping[str, Any]) -> StockRoll:
    return StockRoll(
        roll=Roll(
            substrate=row["substrate"],
            lot=row["lot"],
            number=row["number"],
            width_mm=row["width_mm"],
            length_left_m=row["length_left_m"],
            core_outside_mm=row["core_outside_mm"],
            flaws=tuple(Flaw.model_validate(flaw) for flaw in row["flaws"]),
        ),
        where=Whereabouts(row["place"]),
        device_id=row["device_id"],
        placed_at=as_moment(row["placed_at"]),
        measured_diameter_mm=row["measured_diameter_mm"],
        measured_at=row["measured_at"] and as_moment(row["measured_at"]),
    )
