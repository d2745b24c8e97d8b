"""Which loops have made progress lately. A loop that hangs silences the watchdog for all of them."""

import threading
from collections.abc import Callable, Collection


class Heartbeats:
    """Each loop beats after a turn that ended; ``late`` names those that did not for too long."""

    def __init__(self, monotonic: Callable[[], float], limit_s: float = 60.0) -> None:
        self._monotonic = monotonic
        self._limit_s = limit_s
        self._beats: dict[str, float] = {}
        self._lock = threading.Lock()

    def beat(self, loop: str) -> None:
        """This loop has just finished a turn."""
        with self._lock:
            self._beats[loop] = self._monotonic()

    def forget(self, loop: str) -> None:
        """This loop has ended, as it was told to."""
        with self._lock:
            self._beats.pop(loop, None)

    def late(self, held: Collection[str] = ()) -> list[str]:
        """Loops whose last turn ended too long ago.

        Args:
            held: Loops that a share holds which does not answer. Nobody else waits for them, and no restart would
                help: they are not late.
        """
        now_s = self._monotonic()
        with self._lock:
            return sorted(
                loop
                for loop, at_s in self._beats.items()
                if now_s - at_s > self._limit_s and loop not in held
            )
