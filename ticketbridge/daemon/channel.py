"""One subscriber's outbox: strictly in order, one in flight, the same bytes on every try."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from ticketbridge.daemon.logs import Notices
from ticketbridge.model.event import Event
from ticketbridge.model.exchange import Next
from ticketbridge.model.retry import ChannelRules, next_after, wait_s
from ticketbridge.report.send import NotReceived, Sender
from ticketbridge.store.records import Message
from ticketbridge.store.store import Store

GROUP = 64
SETTLE_S = 1.0
"""What was sent is noted in the store at least this often; after a crash the rest is sent once more."""


@dataclass(frozen=True, slots=True)
class Clocks:
    """The time of day, and a clock that never jumps."""

    now: Callable[[], datetime]
    monotonic: Callable[[], float]


@dataclass(frozen=True, slots=True)
class Turn:
    """How a turn ended.

    Attributes:
        more: Whether more may wait already.
        failing_s: So long the subscriber is left alone, because it does not receive; 0 where it does.
    """

    more: bool
    failing_s: float


class Channel:
    """Drains the outbox of one subscriber. Holds no transaction while it talks."""

    def __init__(
        self,
        name: str,
        sender: Sender,
        store: Store,
        rules: ChannelRules,
        notices: Notices,
        clocks: Clocks,
    ) -> None:
        self.name = name
        self._sender = sender
        self._store = store
        self._rules = rules
        self._notices = notices
        self._clocks = clocks
        with store.transaction() as tx:
            self._up_to = tx.sent_up_to(name)
        self._unsettled: list[str] = []
        self._settled_s = clocks.monotonic()
        self._failing_since_s: float | None = None

    def turn(self, stopping: Callable[[], bool] = lambda: False) -> Turn:
        """Send what waits, up to a group.

        Args:
            stopping: Asked before each message.
        """
        with self._store.reading() as tx:
            messages, newest = tx.unsent(self.name, self._up_to, GROUP), tx.newest(self.name)
        failing_s = 0.0
        for message in messages:
            if stopping():
                break
            failing_s = self._send(message, newer_waits=message.seq < newest)
            if failing_s:
                break
        self.settle(force=False)
        return Turn(more=bool(messages) and not failing_s, failing_s=failing_s)

    def settle(self, *, force: bool) -> None:
        """Note in the store what was sent, where that is due."""
        due = self._clocks.monotonic() - self._settled_s >= SETTLE_S
        if not self._unsettled or not (force or due):
            return
        try:
            self._sender.settle(self._unsettled)
        except OSError as error:
            self._notices.failing(f"channel {self.name} cannot be synced", reason=str(error))
            return
        with self._store.transaction() as tx:
            tx.mark_sent(self.name, self._up_to)
        self._unsettled = []
        self._settled_s = self._clocks.monotonic()

    def close(self) -> None:
        """Note what was sent and let go of the connection."""
        self.settle(force=True)
        self._sender.close()

    def _send(self, message: Message, *, newer_waits: bool) -> float:
        """One try. Seconds to wait for this subscriber; 0 where the next message may go."""
        now = self._clocks.now()
        try:
            self._sender.send(message.body, message.file_name)
        except NotReceived as error:
            self._notices.failing(f"channel {self.name} does not receive", reason=str(error))
            age_s = (now - message.at).total_seconds()
            step = next_after(error.outcome, age_s, self._rules, newer_waits=newer_waits)
            if step is Next.AGAIN:
                return self._outage_wait_s()
            if step is Next.DEAD_LETTER:
                self._bury(message, str(error), now)
            self._pass(message)
            return 0.0
        self._notices.well(f"channel {self.name} does not receive")
        self._failing_since_s = None
        self._pass(message)
        return 0.0

    def _outage_wait_s(self) -> float:
        """By how long the subscriber has been away in this run: a start always tries soon."""
        now_s = self._clocks.monotonic()
        if self._failing_since_s is None:
            self._failing_since_s = now_s
        return wait_s(now_s - self._failing_since_s)

    def _bury(self, message: Message, reason: str, now: datetime) -> None:
        facts = {"channel": self.name, "number": message.seq, "reason": reason}
        self._notices.tell("message given up", **facts)
        with self._store.transaction() as tx:
            tx.bury(message, reason)
            tx.tell(Event("message given up", now, facts=facts))

    def _pass(self, message: Message) -> None:
        self._up_to = message.seq
        self._unsettled.append(message.file_name)
        self.settle(force=False)
