"""The only place that asks what time it is; everybody else is handed these functions."""

import time
from datetime import UTC, datetime

monotonic = time.monotonic
"""Seconds of a clock that never jumps: for durations."""


def now() -> datetime:
    """The time in UTC: for the store and for people."""
    return datetime.now(UTC)
