"""One thread for each subscriber: strictly in order, one in flight; a dead one slows nobody else."""

import threading

from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.model.retry import given_up, wait_s
from ticketbridge.report.send import NotReceived, Sender
from ticketbridge.store.records import Message
from ticketbridge.store.store import Store

GROUP = 64
SETTLE_S = 1.0
"""What was sent is noted in the store at least this often; after a crash the rest is sent once more."""


class ChannelLoop(threading.Thread):
    """Drains the outbox of one subscriber. Holds no transaction while it talks."""

    def __init__(
        self,
        channel: str,
        sender: Sender,
        store: Store,
        give_up_days: float,
        notices: Notices,
        heartbeats: Heartbeats,
    ) -> None:
        super().__init__(name=f"channel {channel}", daemon=True)
        self._channel = channel
        self._sender = sender
        self._store = store
        self._give_up_days = give_up_days
        self._notices = notices
        self._heartbeats = heartbeats
        self._stopping = threading.Event()
        self._awake = threading.Event()
        self._sent_up_to = 0
        self._unsettled: list[str] = []
        self._settled_s = clock.monotonic()

    def run(self) -> None:
        """Until stopped."""
        with self._store.transaction() as tx:
            self._sent_up_to = tx.sent_up_to(self._channel)
        while not self._stopping.is_set():
            self._awake.clear()
            with self._store.transaction() as tx:
                messages = tx.unsent(self._channel, self._sent_up_to, GROUP)
            for message in messages:
                if not self._send(message):
                    break
            self._settle(force=False)
            self._heartbeats.beat(self.name)
            if not messages:
                self._awake.wait(SETTLE_S)
        self._settle(force=True)
        self._sender.close()

    def wake(self) -> None:
        """There may be something to send."""
        self._awake.set()

    def stop(self) -> None:
        """End after the message in flight."""
        self._stopping.set()
        self._awake.set()

    def _send(self, message: Message) -> bool:
        """One try. False where the subscriber must be waited for, or the loop is to end."""
        if self._stopping.is_set():
            return False
        age_s = (clock.now() - message.at).total_seconds()
        try:
            self._sender.send(message.body, message.file_name)
        except NotReceived as error:
            self._notices.failing(f"{self.name} does not receive", reason=str(error))
            if given_up(age_s, self._give_up_days):
                with self._store.transaction() as tx:
                    tx.bury(message)
                return True
            self._wait(wait_s(age_s))
            return False
        self._notices.well(f"{self.name} does not receive")
        self._sent_up_to = message.seq
        self._unsettled.append(message.file_name)
        self._settle(force=False)
        return True

    def _wait(self, seconds: float) -> None:
        until_s = clock.monotonic() + seconds
        while (left_s := until_s - clock.monotonic()) > 0 and not self._stopping.is_set():
            self._heartbeats.beat(self.name)
            self._stopping.wait(min(left_s, 1.0))

    def _settle(self, *, force: bool) -> None:
        due = clock.monotonic() - self._settled_s >= SETTLE_S
        if not self._unsettled or not (force or due):
            return
        try:
            self._sender.settle(self._unsettled)
        except OSError as error:
            self._notices.failing(f"{self.name} cannot be synced", reason=str(error))
            return
        with self._store.transaction() as tx:
            tx.mark_sent(self._channel, self._sent_up_to)
        self._unsettled = []
        self._settled_s = clock.monotonic()
