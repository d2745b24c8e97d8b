"""The loops of what this bridge serves: started and stopped by name, each source, lane and subscriber for itself."""

from collections.abc import Callable, Collection, Mapping
from typing import Protocol

from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats


class Loop(Protocol):
    """A thread that serves one thing."""

    name: str

    def start(self) -> None:
        """Begin."""

    def stop(self) -> None:
        """End soon."""

    def is_alive(self) -> bool:
        """Whether it has not ended yet."""

    def join(self, timeout: float | None = None) -> None:
        """Wait for its end."""

    def wake(self) -> None:
        """There may be something to do."""


class Serving:
    """What runs of what could run.

    Args:
        makers: How to make the loop that serves a thing, by the name of its lease.
        heartbeats: Where each loop is expected to beat.
    """

    def __init__(self, makers: Mapping[str, Callable[[], Loop]], heartbeats: Heartbeats) -> None:
        self._makers = makers
        self._heartbeats = heartbeats
        self._loops: dict[str, Loop] = {}

    @property
    def names(self) -> frozenset[str]:
        """What there is to serve."""
        return frozenset(self._makers)

    @property
    def running(self) -> frozenset[str]:
        """What is served, or has not ended yet."""
        return frozenset(self._loops)

    def start(self, names: Collection[str]) -> None:
        """Begin to serve these."""
        for name in sorted(names):
            loop = self._loops[name] = self._makers[name]()
            self._heartbeats.beat(loop.name)  # so that one that hangs in its first turn is missed, too
            loop.start()

    def stop(self, names: Collection[str]) -> None:
        """Let these end; those that have are running no more. Waits for none of them."""
        for name in sorted(names):
            loop = self._loops[name]
            loop.stop()
            if not loop.is_alive():
                self._heartbeats.forget(loop.name)
                del self._loops[name]

    def stop_all(self, within_s: float) -> None:
        """Let everything end, and wait for it."""
        for loop in self._loops.values():
            loop.stop()
        until_s = clock.monotonic() + within_s
        for loop in self._loops.values():
            loop.join(max(0.0, until_s - clock.monotonic()))

    def wake(self) -> None:
        """There may be something to do for everybody."""
        for loop in self._loops.values():
            loop.wake()
