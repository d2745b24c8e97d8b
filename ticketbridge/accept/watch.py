"""Watching one drop folder: a timed look at the whole folder is the truth, events only wake it early.

Events come from the kernel by way of watchdog, for local folders. The kernel is asked for what comes into the drop
folder and for nothing else: told of a rename out of it, such as each claim, watchdog would hold back every event for
half a second, waiting for the other half of the move. A lost event costs time, never a ticket.
"""

import errno
import os
import queue
from collections.abc import Callable
from pathlib import Path
from typing import Final

from watchdog.events import DirMovedEvent, FileClosedEvent, FileMovedEvent, FileSystemEventHandler
from watchdog.observers.inotify import InotifyFullEmitter, InotifyObserver
from watchdog.observers.inotify_c import InotifyConstants, Mask

from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.settle import Look, Settled, SettleTracker
from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask

INOTIFY_REMEDY: Final = {
    errno.ENOSPC: "the kernel's limit of watches is reached: raise fs.inotify.max_user_watches",
    errno.EMFILE: "the kernel's limit of watchers is reached: raise fs.inotify.max_user_instances",
}
"""What "no space left on device" and "too many open files" mean when a watch cannot be set."""

LONGEST_WAIT_S: Final = 2.0
"""The caller hears from the watch at least this often, so that a long ``scan_s`` is not taken for a hung loop."""


LEFT_ALONE: Final = frozenset({Kind.LITTER, Kind.ARTWORK, Kind.PDF})
"""What may lie in a drop folder without a word about it."""


class _Arrivals(InotifyFullEmitter):
    """Asks for what was moved in or closed by its writer, and for the end of the folder itself."""

    def get_event_mask_from_filter(self) -> Mask:
        """What the kernel is asked for (inotify(7))."""
        kinds = InotifyConstants
        return Mask(kinds.IN_MOVED_TO | kinds.IN_CLOSE_WRITE | kinds.IN_DELETE_SELF)


class _ArrivalsObserver(InotifyObserver):
    def __init__(self) -> None:
        super().__init__()
        self._emitter_class = _Arrivals


class _Hints(FileSystemEventHandler):
    """Puts the names that events vouch for on a queue, and does nothing else in watchdog's thread."""

    def __init__(self, hints: "queue.SimpleQueue[str | None]") -> None:
        self._hints = hints

    def on_moved(self, event: DirMovedEvent | FileMovedEvent) -> None:
        self._hint(os.fsdecode(event.dest_path))

    def on_closed(self, event: FileClosedEvent) -> None:
        self._hint(os.fsdecode(event.src_path))

    def _hint(self, path: str) -> None:
        self._hints.put(path.rpartition("/")[2])


class DropWatch:
    """One drop folder, looked at until told to stop.

    Args:
        drop: The folder that files appear in.
        scan_s: Seconds between two looks at the whole folder.
        tracker: Decides what is settled.
        taken: Kinds of files that this source takes.
        monotonic: Seconds of a clock that never jumps.
    """

    def __init__(
        self,
        drop: Path,
        scan_s: float,
        tracker: SettleTracker,
        monotonic: Callable[[], float],
        taken: frozenset[Kind] = frozenset({Kind.TICKET}),
    ) -> None:
        self._drop = drop
        self._scan_s = scan_s
        self._tracker = tracker
        self._monotonic = monotonic
        self._taken = taken
        self._hints: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._observer: _ArrivalsObserver | None = None
        self._next_scan_s = monotonic()
        self.unknown: set[str] = set()
        """Names seen that this source does not take and that are neither artwork nor litter, or a ticket's name on
        something that is no file."""

    def start_events(self) -> None:
        """Ask the kernel for events; once more after the folder was away, as they were of the one that went.

        Raises:
            OSError: The kernel has no watch left; the scan goes on alone. ``INOTIFY_REMEDY`` has the sentence.
        """
        self._stop_events()
        observer = _ArrivalsObserver()
        observer.schedule(_Hints(self._hints), str(self._drop))
        observer.start()
        self._observer = observer

    def take(self, kinds: frozenset[Kind]) -> None:
        """Take files of these kinds from now on."""
        self._taken = kinds

    def stop(self) -> None:
        """End the wait at once, and the events."""
        self._hints.put(None)
        self._stop_events()

    def _stop_events(self) -> None:
        observer, self._observer = self._observer, None
        if observer is not None:
            observer.stop()
            observer.join()

    def next_settled(self) -> list[Settled]:
        """Wait for an event or for the time to look, and tell what is settled.

        Raises:
            PlaceNotReady: The drop folder is not there or not ours; nothing was looked at.
            OSError: The folder could not be read.
        """
        wait_s = self._next_scan_s - self._monotonic()
        if wait_s <= 0:  # first, so that a stream of events cannot put it off for ever
            return self._scan()
        try:
            hint = self._hints.get(timeout=min(wait_s, LONGEST_WAIT_S))
        except queue.Empty:
            return [] if wait_s > LONGEST_WAIT_S else self._scan()
        settled = []
        while hint is not None:
            one = self._hinted(hint)
            if one is not None:
                settled.append(one)
            try:
                hint = self._hints.get_nowait()
            except queue.Empty:
                break
        return settled

    def _hinted(self, name: str) -> Settled | None:
        if kind_of(name) not in self._taken:
            return None
        try:
            status = ask(self._drop, (self._drop / name).lstat)
        except OSError:
            return None
        look = Look(status.st_size, status.st_mtime_ns, status.st_ino)
        return self._tracker.event(name, look, self._monotonic())

    def _scan(self) -> list[Settled]:
        self._next_scan_s = self._monotonic() + self._scan_s
        durable.require_ready(self._drop)
        return self._tracker.scan(ask(self._drop, self._seen), self._monotonic())

    def _seen(self) -> list[tuple[str, Look]]:
        """What lies there that this source takes."""
        seen = []
        unknown = set()
        with os.scandir(self._drop) as entries:
            for entry in entries:
                kind = kind_of(entry.name)
                regular = entry.is_file(follow_symlinks=False)
                if kind in self._taken and regular:
                    try:
                        status = entry.stat(follow_symlinks=False)
                    except FileNotFoundError:
                        continue
                    seen.append((entry.name, Look(status.st_size, status.st_mtime_ns, status.st_ino)))
                elif kind in self._taken or (regular and kind not in LEFT_ALONE):
                    unknown.add(entry.name)
        seen.sort(key=lambda one: (one[1].mtime_ns, one[0]))  # first written, first taken
        self.unknown = unknown
        return seen
