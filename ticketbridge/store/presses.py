"""What presses said, and the rolls on their lanes."""

from datetime import datetime

from sqlalchemy import delete, func, insert, select, update

from ticketbridge.model.job import as_text
from ticketbridge.model.substrate import Roll
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import RECEIVED, ROLL


class PressStatements(Statements):
    """What presses said, and the rolls on their lanes."""

    def is_new_message(self, sender_id: str, message_id: str, at: datetime) -> bool:
        """Take note of a message of a press; False where it was taken before."""
        known = self._connection.execute(
            select(RECEIVED.c.at).where(
                RECEIVED.c.sender_id == sender_id, RECEIVED.c.message_id == message_id
            )
        ).scalar_one_or_none()
        if known is None:
            self._connection.execute(
                insert(RECEIVED), {"sender_id": sender_id, "message_id": message_id, "at": as_text(at)}
            )
        return known is None

    def rolls(self) -> dict[str, Roll]:
        """The roll on each lane."""
        rows = self._connection.execute(select(ROLL)).mappings()
        return {
            row["device_id"]: Roll(
                substrate=row["substrate"],
                lot=row["lot"],
                width_mm=row["width_mm"],
                length_left_m=row["length_left_m"],
            )
            for row in rows
        }

    def load_roll(self, device_id: str, roll: Roll, at: datetime) -> None:
        """A roll was put on a lane, in place of the one on record."""
        self._connection.execute(delete(ROLL).where(ROLL.c.device_id == device_id))
        self._connection.execute(
            insert(ROLL), {"device_id": device_id, **roll.model_dump(), "at": as_text(at)}
        )

    def use_roll(self, device_id: str, length_m: float, at: datetime) -> float:
        """Take used length off the account; the length left, never below zero."""
        left = func.max(ROLL.c.length_left_m - length_m, 0)
        done = self._connection.execute(
            update(ROLL)
            .where(ROLL.c.device_id == device_id)
            .values(length_left_m=left, at=as_text(at))
            .returning(ROLL.c.length_left_m)
        )
        return float(done.scalar_one())
