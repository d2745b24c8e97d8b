"""TERM and INT end a program in order."""

import signal
import threading
from collections.abc import Callable


def on_stop_signals(stop: Callable[[], None]) -> None:
    """Have TERM and INT call a function, in a thread of its own.

    A handler runs in the main thread, between any two of its steps, also while that thread holds the lock
    of the very event that it waits for: setting that event there would wait for ever.

    Args:
        stop: What ends the program; it may be called more than once.
    """
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: threading.Thread(target=stop, daemon=True).start())
