"""The lane's side: notes the monotonic clock as tickets appear in lane folders. Bare inotify, so that it costs little."""

import ctypes
import os
import select
import struct
import time
from collections.abc import Sequence
from pathlib import Path

IN_CLOSE_WRITE, IN_MOVED_TO = 0x08, 0x80  # linux/inotify.h
HEADER = struct.Struct("iIII")  # watch, mask, cookie, length of the name that follows
LIBC = ctypes.CDLL(None, use_errno=True)


class Arrivals:
    """Watches some folders from the moment it is made; names that begin with a dot are on their way, not there."""

    def __init__(self, folders: Sequence[Path]) -> None:
        self._descriptor = LIBC.inotify_init()
        if self._descriptor < 0:
            raise OSError(ctypes.get_errno(), "inotify_init failed")
        self._folders: dict[int, Path] = {}
        for folder in folders:
            watch = LIBC.inotify_add_watch(
                self._descriptor, os.fsencode(folder), IN_CLOSE_WRITE | IN_MOVED_TO
            )
            if watch < 0:
                raise OSError(ctypes.get_errno(), f"cannot watch {folder}")
            self._folders[watch] = folder
        self.seen_s: dict[Path, float] = {}
        """When each file was there."""

    def wait_for(self, count: int, limit_s: float) -> None:
        """Until so many more files have arrived.

        Raises:
            TimeoutError: They have not.
        """
        wanted = len(self.seen_s) + count
        until_s = time.monotonic() + limit_s
        while len(self.seen_s) < wanted:
            left_s = until_s - time.monotonic()
            if left_s <= 0 or not select.select([self._descriptor], [], [], left_s)[0]:
                raise TimeoutError(
                    f"{wanted - len(self.seen_s)} of {count} tickets did not arrive in {limit_s:.0f} s"
                )
            self._note(os.read(self._descriptor, 65536), time.monotonic())

    def close(self) -> None:
        os.close(self._descriptor)

    def _note(self, events: bytes, now_s: float) -> None:
        at = 0
        while at < len(events):
            watch, _, _, length = HEADER.unpack_from(events, at)
            at += HEADER.size
            name = os.fsdecode(events[at : at + length].rstrip(b"\0"))
            at += length
            if not name.startswith("."):
                self.seen_s.setdefault(self._folders[watch] / name, now_s)
