"""The loops of what this bridge serves: started and stopped by name, each source, lane and subscriber for itself."""

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Protocol

from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats


class Ending(Protocol):
    """A thread that can be told to end."""

    def stop(self) -> None:
        """End soon."""

    def join(self, timeout: float | None = None) -> None:
        """Wait for its end."""


class Loop(Ending, Protocol):
    """A thread that serves one thing."""

    name: str

    def start(self) -> None:
        """Begin."""

    def is_alive(self) -> bool:
        """Whether it has not ended yet."""

    def wake(self) -> None:
        """There may be something to do."""


class Serving:
    """What runs of what could run.

    Args:
        makers: How to make the loops that serve a thing, by the name of its lease.
        heartbeats: Where each loop is expected to beat.
    """

    def __init__(self, makers: Mapping[str, Callable[[], Sequence[Loop]]], heartbeats: Heartbeats) -> None:
        self._makers = makers
        self._heartbeats = heartbeats
        self._loops: dict[str, Sequence[Loop]] = {}

    @property
    def names(self) -> frozenset[str]:
        """What there is to serve."""
        return frozenset(self._makers)

    @property
    def running(self) -> frozenset[str]:
        """What is served, or has not ended yet."""
        return frozenset(self._loops)

    @property
    def loops(self) -> list[Loop]:
        """Everything that runs."""
        return [loop for loops in self._loops.values() for loop in loops]

    def start(self, names: Collection[str]) -> None:
        """Begin to serve these."""
        for name in sorted(names):
            self._loops[name] = self._makers[name]()
            for loop in self._loops[name]:
                self._heartbeats.beat(loop.name)  # so that one that hangs in its first turn is missed, too
                loop.start()

    def stop(self, names: Collection[str]) -> None:
        """Let these end; those that have are running no more. Waits for none of them."""
        for name in sorted(names):
            for loop in self._loops[name]:
                loop.stop()
            if not any(loop.is_alive() for loop in self._loops[name]):
                for loop in self._loops.pop(name):
                    self._heartbeats.forget(loop.name)

    def wake(self) -> None:
        """There may be something to do for everybody."""
        for loop in self.loops:
            loop.wake()


def stop_all(loops: Sequence[Ending], within_s: float) -> None:
    """Let them all end, and wait for it."""
    for loop in loops:
        loop.stop()
    until_s = clock.monotonic() + within_s
    for loop in loops:
        loop.join(max(0.0, until_s - clock.monotonic()))
