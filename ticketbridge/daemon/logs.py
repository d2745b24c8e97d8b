"""The log: one line per thing that happened, readable on a terminal, JSON elsewhere; to standard error.

A repeated failure is logged when it begins and when it ends, with a count, not each time.
"""

import sys
import threading
from typing import Any

import structlog


def configure() -> None:
    """Set structlog up for this process."""
    terminal = sys.stderr.isatty()
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            *([] if terminal else [structlog.processors.format_exc_info]),
            structlog.dev.ConsoleRenderer(exception_formatter=structlog.dev.plain_traceback)
            if terminal
            else structlog.processors.JSONRenderer(),
        ],
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
        cache_logger_on_first_use=True,
    )


class Notices:
    """Logs what changed and swallows what only repeats: failures are told when they begin and when they end."""

    def __init__(self) -> None:
        self._log = structlog.get_logger("ticketbridge")
        self._failing: dict[str, int] = {}
        self._lock = threading.Lock()

    def tell(self, event: str, **facts: Any) -> None:
        """Something happened once."""
        self._log.info(event, **facts)

    def failing(self, what: str, **facts: Any) -> None:
        """Something fails; told the first time, counted after that."""
        with self._lock:
            count = self._failing.get(what, 0)
            self._failing[what] = count + 1
        if count == 0:
            self._log.warning(what, **facts)

    def well(self, what: str) -> None:
        """It works; told if it failed before, with how often."""
        with self._lock:
            count = self._failing.pop(what, 0)
        if count:
            self._log.info(f"{what}: well again", failures=count)

    def broke(self, what: str, error: BaseException) -> None:
        """A fault of ours, with its trace."""
        self._log.error(what, exc_info=error)
