"""The outbox: messages by channel, and how far each subscriber surely is."""

from dataclasses import replace
from datetime import datetime
from typing import Final

from sqlalchemy import RowMapping, bindparam, case, insert, select, update

from ticketbridge.model.job import as_moment, as_text
from ticketbridge.store.records import DeadLetter, Message
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import CHANNEL, MESSAGE

_NEXT: Final = (
    update(CHANNEL)
    .where(CHANNEL.c.channel == bindparam("of_channel"))
    .values(last_seq=CHANNEL.c.last_seq + 1)
    .returning(CHANNEL.c.last_seq)
)
_QUEUE: Final = insert(MESSAGE)


class MessageStatements(Statements):
    """The outbox: messages by channel, and how far each subscriber surely is."""

    def next_seq(self, channel: str) -> int:
        """Take the next message number of a channel."""
        taken = self._connection.execute(_NEXT, {"of_channel": channel}).scalar_one_or_none()
        if taken is None:
            self._connection.execute(insert(CHANNEL), {"channel": channel, "last_seq": 1, "sent_up_to": 0})
        return taken or 1

    def queue_message(self, message: Message) -> None:
        """Put a message into the outbox."""
        self.has_news = True
        self._connection.execute(
            _QUEUE,
            {
                "channel": message.channel,
                "seq": message.seq,
                "body": message.body,
                "file_name": message.file_name,
                "dead": False,
                "at": as_text(message.at),
            },
        )

    def unsent(self, channel: str, after: int, limit: int) -> list[Message]:
        """The next messages of a channel, in order."""
        rows = self._connection.execute(
            select(MESSAGE)
            .where(MESSAGE.c.channel == channel, MESSAGE.c.seq > after, MESSAGE.c.dead.is_(False))
            .order_by(MESSAGE.c.seq)
            .limit(limit)
        ).mappings()
        return [_message(row) for row in rows]

    def sent_up_to(self, channel: str) -> int:
        """Up to which message the subscriber surely has them."""
        found = self._connection.execute(
            select(CHANNEL.c.sent_up_to).where(CHANNEL.c.channel == channel)
        ).scalar_one_or_none()
        return found or 0

    def channels(self) -> dict[str, tuple[int, int]]:
        """Messages promised and surely sent, by channel."""
        rows = self._connection.execute(select(CHANNEL))
        return {row.channel: (row.last_seq, row.sent_up_to) for row in rows}

    def mark_sent(self, channel: str, seq: int) -> None:
        """The subscriber has everything up to this message; the watermark never goes back."""
        self._connection.execute(
            update(CHANNEL)
            .where(CHANNEL.c.channel == channel)
            .values(sent_up_to=case((CHANNEL.c.sent_up_to < seq, seq), else_=CHANNEL.c.sent_up_to))
        )

    def newest(self, channel: str) -> int:
        """The number of the newest message of a channel; 0 where it has none."""
        found = self._connection.execute(
            select(CHANNEL.c.last_seq).where(CHANNEL.c.channel == channel)
        ).scalar_one_or_none()
        return found or 0

    def bury(self, message: Message, reason: str) -> None:
        """Give a message up; it stays to be looked at and sent again by a person."""
        self._connection.execute(
            update(MESSAGE)
            .where(MESSAGE.c.channel == message.channel, MESSAGE.c.seq == message.seq)
            .values(dead=True, reason=reason[:1023])
        )

    def bury_next(self, channel: str, reason: str) -> Message | None:
        """Give up the message that a channel is stuck at; None where nothing waits."""
        head = next(iter(self.unsent(channel, self.sent_up_to(channel), 1)), None)
        if head is not None:
            self.bury(head, reason)
        return head

    def dead_letters(self) -> list[DeadLetter]:
        """Every message that was given up and not sent again, oldest first."""
        rows = self._connection.execute(
            select(MESSAGE).where(MESSAGE.c.dead.is_(True)).order_by(MESSAGE.c.at, MESSAGE.c.seq)
        ).mappings()
        return [DeadLetter(_message(row), row["reason"] or "") for row in rows]

    def send_again(self, channel: str, seq: int, at: datetime) -> bool:
        """Put a dead letter behind the newest message, with the bytes and so the IDs it had. False: there is none."""
        row = (
            self._connection.execute(
                update(MESSAGE)
                .where(MESSAGE.c.channel == channel, MESSAGE.c.seq == seq, MESSAGE.c.dead.is_(True))
                .values(dead=False)
                .returning(MESSAGE)
            )
            .mappings()
            .one_or_none()
        )
        if row is None:
            return False
        self.queue_message(replace(_message(row), seq=self.next_seq(channel), at=at))
        return True


def _message(row: RowMapping) -> Message:
    return Message(row["channel"], row["seq"], row["body"], row["file_name"], as_moment(row["at"]))
