"""One thread that looks a few times a day for what may go into an archive, and puts it there."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, Final

from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.keep.archiving import archive_month, forget_received, months_to_archive
from ticketbridge.spool import gates
from ticketbridge.spool.archives import ArchiveBroken
from ticketbridge.store.records import WorldFault
from ticketbridge.store.store import Store

FIRST_LOOK_S: Final = 60.0
"""After a start there are better things to do first."""
LOOK_S: Final = 6 * 3600.0
BEAT_S: Final = 1.0
_FAILS: Final = "nothing can be archived"


class ArchiveLoop(threading.Thread):
    """Archives beside the work; what the store must know is done by the thread that moves jobs.

    Args:
        bridge: The bridge.
        view: A view of its store, for this thread alone.
        do: Has something done by the thread that moves jobs.
        notices: The log.
        heartbeats: Where it beats.
    """

    def __init__(
        self,
        bridge: Bridge,
        view: Store,
        do: "Callable[[Callable[[Bridge], Any]], Future[Any]]",
        notices: Notices,
        heartbeats: Heartbeats,
    ) -> None:
        super().__init__(name="archive", daemon=True)
        self._bridge = bridge
        self._view = view
        self._do = do
        self._notices = notices
        self._heartbeats = heartbeats
        self._stopping = threading.Event()

    def run(self) -> None:
        """Until stopped."""
        gates.be_patient()
        wait_s = FIRST_LOOK_S
        while not self._rested(wait_s):
            try:
                self.look()
                self._notices.well(_FAILS)
            except _Stopped:
                return
            except (OSError, ArchiveBroken, *WorldFault) as error:
                self._notices.failing(_FAILS, reason=str(error))
            wait_s = LOOK_S

    def stop(self) -> None:
        """End soon; what is not archived stays where it is."""
        self._stopping.set()

    def look(self) -> None:
        """Archive everything that may go now."""
        with self._view.transaction() as tx:
            months = months_to_archive(self._bridge, tx, clock.now())
        for month in months:
            archive = archive_month(self._bridge, month, self._committed, self._beat)
            self._notices.tell("archived", archive=archive.name, files=len(month.things))
        forget_received(self._bridge, self._view, clock.now(), self._committed)

    def _committed(self, work: Callable[[Bridge], None]) -> None:
        answer = self._do(work)
        while True:
            self._beat()
            try:
                answer.result(timeout=BEAT_S)
            except TimeoutError:
                continue
            return

    def _beat(self) -> None:
        if self._stopping.is_set():
            raise _Stopped
        gates.still_going()
        self._heartbeats.beat(self.name)

    def _rested(self, seconds: float) -> bool:
        """Wait, and beat meanwhile; True where it is time to end."""
        until_s = clock.monotonic() + seconds
        while (left_s := until_s - clock.monotonic()) > 0:
            self._heartbeats.beat(self.name)
            if self._stopping.wait(min(left_s, BEAT_S)):
                return True
        return self._stopping.is_set()


class _Stopped(Exception):
    """The service ends in the middle of an archive."""
