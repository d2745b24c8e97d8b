"""One thread for each source: watch the drop folder, claim what is settled, hand it to the flow."""

import threading
from collections.abc import Callable
from pathlib import Path
from queue import Full, Queue

from ticketbridge.accept.claim import Claimed, Claimer
from ticketbridge.accept.litter import ENDS_ANYWHERE, Kind, kind_of, shows_end
from ticketbridge.accept.settle import Settled, SettleTracker
from ticketbridge.accept.watch import INOTIFY_REMEDY, DropWatch
from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.jdf.safe_xml import root_is_closed
from ticketbridge.model.shop import Limits, Source
from ticketbridge.spool import durable, gates
from ticketbridge.spool.places import SourcePlaces

PDF_END = b"%%EOF"
PDF_END_WITHIN = 1024
"""Bytes from the end of a PDF in which its end mark is looked for (common practice of readers)."""
RETRY_S = 2.0
"""How long to wait before a folder that is not there is looked at again."""
HINDERED_S = 0.5
UNHINDERED_S = 0.1
"""So long nobody asks again whether something hinders: a burst would ask how full the disk is for every file."""
HAND_ON_S = 1.0
"""How long to wait at once for room in the flow's inbox; what is claimed and not handed on is found at the next start."""


def full(folder: Path, keep_free_mb: float) -> str | None:
    """What to say where a folder's disk has too little room for more tickets; None where it has enough.

    Raises:
        OSError: The folder cannot be looked at.
    """
    free_mb = durable.free_mb(folder)
    if free_mb >= keep_free_mb:
        return None
    return f"the disk of {folder} has {free_mb:.0f} MB free and keep_free_mb is {keep_free_mb:g}: make room there"


class IntakeLoop(threading.Thread):
    """Watches one source. Parsing happens elsewhere, so that nothing heavy keeps it from claiming."""

    def __init__(
        self,
        source: Source,
        places: SourcePlaces,
        limits: Limits,
        inbox: "Queue[Claimed]",
        wake: Callable[[], None],
        notices: Notices,
        heartbeats: Heartbeats,
        taken: frozenset[Kind] = frozenset({Kind.TICKET, Kind.MESSAGE}),
        hindrance: Callable[[], str | None] = lambda: None,
    ) -> None:
        super().__init__(name=f"intake {source.id}", daemon=True)
        self._places = places
        self._limits = limits
        self._inbox = inbox
        self._wake = wake
        self._notices = notices
        self._heartbeats = heartbeats
        self._hindrance = hindrance
        self._stopping = threading.Event()
        self._claimer = Claimer(source.id, places)
        watch = source.watch
        tracker = SettleTracker(watch.quiet_s, watch.patience_s, self._is_whole, shows_end)
        self.source_id = source.id
        self._watch = DropWatch(places.drop, watch.scan_s, tracker, clock.monotonic, taken)
        self._events = source.watch.events
        self._went_away = False
        self._unhindered_until_s = 0.0
        self._told: set[str] = set()

    def run(self) -> None:
        """Until stopped."""
        gates.be_patient()
        if self._events:
            self._ask_for_events()
        while not self._stopping.is_set():
            try:
                if self._is_hindered():
                    continue
                found = self._watch.next_settled()
                if self._went_away and self._events:
                    self._went_away = not self._ask_for_events()
                for settled in found:
                    if self._is_hindered():  # what is left is seen again at the next look
                        break
                    self._claim(settled)
                self._notices.well(f"{self.name} cannot look at its drop folder")
            except (OSError, durable.PlaceNotReady) as error:
                self._went_away = True
                self._notices.failing(f"{self.name} cannot look at its drop folder", reason=str(error))
                self._stopping.wait(RETRY_S)
            self._tell_unknown()
            self._heartbeats.beat(self.name)

    def wake(self) -> None:
        """Nothing to do: it is woken by its folder."""

    def take(self, kinds: frozenset[Kind]) -> None:
        """Take files of these kinds from now on."""
        self._watch.take(kinds)

    def stop(self) -> None:
        """End soon; what is not claimed stays in the drop folder."""
        self._stopping.set()
        self._watch.stop()

    def _is_hindered(self) -> bool:
        """Whether nothing may be claimed now; waits a moment where that is so. What is dropped stays where it is."""
        now_s = clock.monotonic()
        if now_s < self._unhindered_until_s:
            return False
        reason = self._hindrance()
        what = f"{self.name} takes nothing"
        if reason is None:
            self._unhindered_until_s = now_s + UNHINDERED_S
            self._notices.well(what)
            return False
        self._notices.failing(what, reason=reason)
        self._heartbeats.beat(self.name)
        self._stopping.wait(HINDERED_S)
        return True

    def _ask_for_events(self) -> bool:
        """Whether they come from now on."""
        what = f"{self.name} gets no events and goes by its timed look alone"
        try:
            gates.ask(self._places.folder, self._watch.start_events)
        except OSError as error:
            self._notices.failing(what, reason=INOTIFY_REMEDY.get(error.errno or 0, str(error)))
            return False
        self._notices.well(what)
        return True

    def _claim(self, settled: Settled) -> None:
        claimed = self._claimer.claim(settled.name, clock.now(), whole=settled.whole)
        while claimed is not None and not self._stopping.is_set():
            try:
                self._inbox.put(claimed, timeout=HAND_ON_S)
            except Full:  # the flow stands still and tells so itself; this loop is well
                self._heartbeats.beat(self.name)
            else:
                self._wake()
                return

    def _is_whole(self, name: str) -> bool:
        if kind_of(name) in ENDS_ANYWHERE:
            return True
        try:
            if kind_of(name) is Kind.PDF:
                return PDF_END in durable.read_end(self._places.drop / name, PDF_END_WITHIN)
            data = durable.read(self._places.drop / name, self._limits.ticket_bytes)
        except OSError:
            return False
        return len(data) > self._limits.ticket_bytes or root_is_closed(data)

    def _tell_unknown(self) -> None:
        for name in self._watch.unknown - self._told:
            self._notices.tell("intake.unknown-name", name=name, folder=str(self._places.drop))
        self._told = set(self._watch.unknown)
