"""Artwork copied beside a lane: in a thread of its own, as a copy may take minutes and jobs must move meanwhile.

A copy lies under the hash of its content and gets that name only when it is whole, checked and durable. So the name
is the evidence, after a crash too, and jobs with the same artwork share one.
"""

import threading
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask, share_of

AGAIN_AFTER: Final = timedelta(seconds=30)
"""A copy that the disk refused is tried again after so long."""


@dataclass(slots=True)
class Copying:
    """The copies under way, and who uses those that are there. Asked by the thread that moves jobs."""

    _threads: dict[tuple[Path, str], ThreadPoolExecutor] = field(default_factory=dict)
    """One for each lane and share that it copies from, so that one that hangs holds up no other."""
    _stopping: threading.Event = field(default_factory=threading.Event)
    _under_way: dict[Path, Future[None]] = field(default_factory=dict)
    _not_before: dict[Path, datetime] = field(default_factory=dict)
    users: dict[str, Path] = field(default_factory=dict)
    """By queue entry: the copy that its ticket names, or will name."""

    def have(self, queue_entry_id: str, source: Path, sha256: str, target: Path, now: datetime) -> bool:
        """Whether the copy is there. If not, it is begun, or goes on; ask again later.

        Raises:
            ContentDiffers: What lies at the source is not what was accepted.
            FileNotFoundError: Nothing lies there, or the lane's folder is away.
            OSError: The disk refused; asked again after a while, it tries again.
        """
        self.users[queue_entry_id] = target
        under_way = self._under_way.get(target)
        if under_way is not None:
            if not under_way.done():
                return False
            del self._under_way[target]
            try:
                under_way.result()
            except OSError:
                self._not_before[target] = now + AGAIN_AFTER
                raise
        if ask(target, target.exists):
            return True
        if now >= self._not_before.get(target, now):
            self._under_way[target] = self._thread(source, target).submit(
                durable.copy_checked, source, target, sha256, self._stopping.is_set
            )
        return False

    def leave(self, queue_entry_id: str) -> None:
        """A job has ended; a copy that nobody else uses is taken away."""
        target = self.users.pop(queue_entry_id, None)
        if target is not None and target not in self.users.values() and target not in self._under_way:
            with suppress(ShareHangs):  # a later sweep finds it
                durable.remove_copy(target)

    def sweep(self, folder: Path) -> None:
        """Take away what an earlier run left in a lane's folder and no job uses, half copies among it."""
        used = {target.name for target in self.users.values()}
        with suppress(ShareHangs):
            for path in durable.copies_in(folder):
                if path.name not in used:
                    durable.remove_copy(path)

    def stop(self) -> None:
        """Break off what is under way; a half copy is begun anew by the next run."""
        self._stopping.set()
        for thread in self._threads.values():
            thread.shutdown(wait=False, cancel_futures=True)

    def _thread(self, source: Path, target: Path) -> ThreadPoolExecutor:
        key = (target.parent, share_of(source))
        if key not in self._threads:
            self._threads[key] = ThreadPoolExecutor(1, thread_name_prefix="artwork")
        return self._threads[key]
