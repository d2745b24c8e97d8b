"""The two clocks of the press: wall-clock time for what it reports, a steady one for what it waits for."""

import threading
import time
from datetime import UTC, datetime

SLICE_S = 0.05
"""The longest the press sleeps without looking whether it should stop or a ticket has come."""


class Clock:
    """The real clocks. Tests hand in one that they turn themselves."""

    def timestamp(self) -> str:
        """Now, as JDF writes it: date, time in ms, offset from UTC. Such texts sort by time."""
        return datetime.now(UTC).isoformat(timespec="milliseconds")

    def steady_s(self) -> float:
        """Seconds that only grow."""
        return time.monotonic()

    def wait(self, stop: threading.Event, seconds: float) -> None:
        """Sleep for so long, but no longer than one slice, and wake when told to stop."""
        stop.wait(min(max(seconds, 0.0), SLICE_S))


def seconds_between(start: str, end: str) -> float:
    """Seconds from one timestamp to another."""
    return (datetime.fromisoformat(end) - datetime.fromisoformat(start)).total_seconds()
