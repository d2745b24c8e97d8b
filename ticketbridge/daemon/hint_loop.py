"""One thread that listens for hints of other bridges and wakes the loops. Without it they only wait longer."""

import threading
from collections.abc import Callable

from ticketbridge.daemon.logs import Notices
from ticketbridge.store.hints import HintsLost, listen

LOOK_S = 5.0
RETRY_S = 5.0


class HintLoop(threading.Thread):
    """Wakes at each hint, and once whenever it begins to listen anew: hints may have been lost meanwhile."""

    def __init__(self, address: str, bridge_id: str, wake: Callable[[], None], notices: Notices) -> None:
        super().__init__(name="hints", daemon=True)
        self._address = address
        self._bridge_id = bridge_id
        self._wake = wake
        self._notices = notices
        self._stopping = threading.Event()

    def run(self) -> None:
        """Until stopped."""
        while not self._stopping.is_set():
            try:
                for _ in listen(self._address, self._bridge_id, LOOK_S):
                    self._notices.well("no hints from other bridges")
                    if self._stopping.is_set():
                        return
                    self._wake()
            except HintsLost as error:
                self._notices.failing("no hints from other bridges", reason=str(error))
                self._stopping.wait(RETRY_S)

    def stop(self) -> None:
        """End at the next hint or look."""
        self._stopping.set()
