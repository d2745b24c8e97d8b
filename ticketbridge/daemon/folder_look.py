"""One thread that looks which folders this machine sees, so that a share that hangs keeps no heartbeat waiting."""

import threading
from collections.abc import Mapping, Sequence
from pathlib import Path

from ticketbridge.spool import durable

LOOK_S = 5.0


class FolderLook(threading.Thread):
    """Looks for the markers again and again.

    Args:
        folders: What to look for under each name.
    """

    def __init__(self, folders: Mapping[str, Sequence[Path]]) -> None:
        super().__init__(name="folders", daemon=True)
        self._folders = folders
        self._stopping = threading.Event()
        self.first = threading.Event()
        """Set after the first look at everything."""
        self.seen: frozenset[str] = frozenset()
        """Names all of whose folders were there at the last look."""

    def run(self) -> None:
        """Until stopped."""
        while not self._stopping.is_set():
            self.look()
            self._stopping.wait(LOOK_S)

    def stop(self) -> None:
        """End after the look in hand."""
        self._stopping.set()

    def look(self) -> None:
        """One look."""
        for name, folders in self._folders.items():  # each for itself: the next may hang
            found = all(_is_ready(folder) for folder in folders)
            self.seen = self.seen | {name} if found else self.seen - {name}
        self.first.set()


def _is_ready(folder: Path) -> bool:
    try:
        durable.require_ready(folder)
    except (OSError, durable.PlaceNotReady):
        return False
    return True
