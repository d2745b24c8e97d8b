"""One thread for each subscriber; a dead one slows nobody else."""

import threading

from ticketbridge.daemon import clock
from ticketbridge.daemon.channel import SETTLE_S, Channel, Turn
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.spool.gates import be_patient
from ticketbridge.store.leases import Fenced
from ticketbridge.store.records import WorldFault

STORE_WAIT_S = 2.0


class ChannelLoop(threading.Thread):
    """Turns one channel until stopped."""

    def __init__(self, channel: Channel, heartbeats: Heartbeats, notices: Notices) -> None:
        super().__init__(name=f"channel {channel.name}", daemon=True)
        self._channel = channel
        self._heartbeats = heartbeats
        self._notices = notices
        self._stopping = threading.Event()
        self._awake = threading.Event()

    def run(self) -> None:
        """Until stopped. New messages shorten the wait of an idle channel, never that of a failing one."""
        be_patient()
        while not self._stopping.is_set():
            self._awake.clear()
            try:
                turn = self._channel.turn(self._stops)
                self._notices.well(f"{self.name} has no store")
            except (*WorldFault, Fenced) as error:  # disk full, database away: the outbox remembers
                self._notices.failing(f"{self.name} has no store", reason=str(error))
                turn = Turn(more=False, failing_s=STORE_WAIT_S)
            if turn.failing_s:
                self._wait(turn.failing_s)
            elif not turn.more:
                self._heartbeats.beat(self.name)
                self._awake.wait(SETTLE_S)
        try:
            self._channel.close()
        except (*WorldFault, Fenced) as error:
            self._notices.failing(f"{self.name} has no store", reason=str(error))

    def wake(self) -> None:
        """There may be something to send."""
        self._awake.set()

    def stop(self) -> None:
        """End after the message in flight."""
        self._stopping.set()
        self._awake.set()

    def _stops(self) -> bool:
        """Asked before each message, so that many slow ones are no standstill."""
        self._heartbeats.beat(self.name)
        return self._stopping.is_set()

    def _wait(self, seconds: float) -> None:
        until_s = clock.monotonic() + seconds
        while (left_s := until_s - clock.monotonic()) > 0 and not self._stopping.is_set():
            self._heartbeats.beat(self.name)
            self._stopping.wait(min(left_s, 1.0))
