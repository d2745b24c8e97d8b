"""What presses said, so that nothing of it is taken twice."""

from datetime import datetime

from sqlalchemy import insert, select

from ticketbridge.model.job import as_text
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import RECEIVED


class PressStatements(Statements):
    """What presses said, so that nothing of it is taken twice."""

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
