"""Watching one drop folder: a timed look at the whole folder is the truth, events only wake it early.

Events come from the kernel by way of watchdog, for local folders; the whole source folder is watched, so
that the claim's rename stays inside the watch (a rename out of it would hold back every event for half a
second, since watchdog waits for the other half of the move). A lost event costs time, never a ticket.
"""

import errno
import os
import queue
from collections.abc import Callable
from pathlib import Path
from typing import Final

from watchdog.events import (
    DirMovedEvent,
    FileClosedEvent,
    FileMovedEvent,
    FileSystemEvent,
    FileSystemEventHandler,
)
from watchdog.observers.inotify import InotifyObserver

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


class _Hints(FileSystemEventHandler):
    """Puts the names that events vouch for on a queue, and does nothing else in watchdog's thread."""

    def __init__(self, folder: Path, hints: "queue.SimpleQueue[str | None]") -> None:
        self._folder = str(folder)
        self._hints = hints

    def on_moved(self, event: DirMovedEvent | FileMovedEvent) -> None:
        self._hint(os.fsdecode(event.dest_path or b""))

    def on_closed(self, event: FileClosedEvent) -> None:
        self._hint(os.fsdecode(event.src_path))

    def on_any_event(self, event: FileSystemEvent) -> None:
        """Other kinds say nothing that the scan does not see."""

    def _hint(self, path: str) -> None:
        folder, _, name = path.rpartition("/")
        if folder == self._folder:
            self._hints.put(name)


class DropWatch:
    """One drop folder, looked at until told to stop.

    Args:
        watched: The folder to ask events for; it holds ``drop`` and everything that files are moved to.
        drop: The folder that files appear in.
        scan_s: Seconds between two looks at the whole folder.
        tracker: Decides what is settled.
        taken: Kinds of files that this source takes.
        monotonic: Seconds of a clock that never jumps.
    """

    def __init__(
        self,
        watched: Path,
        drop: Path,
        scan_s: float,
        tracker: SettleTracker,
        monotonic: Callable[[], float],
        taken: frozenset[Kind] = frozenset({Kind.TICKET}),
    ) -> None:
        self._watched = watched
        self._drop = drop
        self._scan_s = scan_s
        self._tracker = tracker
        self._monotonic = monotonic
        self._taken = taken
        self._hints: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._observer: InotifyObserver | None = None
        self._next_scan_s = monotonic()
        self.unknown: set[str] = set()
        """Names seen that this source does not take and that are neither artwork nor litter, or a ticket's name on
        something that is no file."""

    def start_events(self) -> None:
        """Ask the kernel for events.

        Raises:
            OSError: The kernel has no watch left; the scan goes on alone. ``INOTIFY_REMEDY`` has the sentence.
        """
        observer = InotifyObserver(generate_full_events=True)
        kinds: list[type[FileSystemEvent]] = [FileMovedEvent, FileClosedEvent]
        observer.schedule(
            _Hints(self._drop, self._hints), str(self._watched), recursive=True, event_filter=kinds
        )
        observer.start()
        self._observer = observer

    def take(self, kinds: frozenset[Kind]) -> None:
        """Take files of these kinds from now on."""
        self._taken = kinds

    def stop(self) -> None:
        """End the wait at once, and the events."""
        self._hints.put(None)
        if self._observer is not None:
            self._observer.stop()
            self._observer.join()

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
