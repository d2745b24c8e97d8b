"""One thread for each lane: look for what the press wrote, hand it to the flow, one file after the other."""

import os
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from queue import Queue

from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.press.following import PressFile
from ticketbridge.flow.press.press_answers import Handed
from ticketbridge.jdf.safe_xml import root_is_closed
from ticketbridge.spool import durable, gates
from ticketbridge.spool.places import LanePlaces

LOOK_S = 0.2
MOST_BYTES = 16 * 1024 * 1024
WRITING_S = 5.0
"""So long what comes behind a half-written file waits for the rest of it. A press that died over it must not hold up
its lane for ever."""


class LaneLoop(threading.Thread):
    """Listens to one lane. A share that hangs holds this thread, and nothing else."""

    def __init__(
        self,
        device_id: str,
        places: LanePlaces,
        inbox: "Queue[Handed | PressFile]",
        wake: Callable[[], None],
        notices: Notices,
        heartbeats: Heartbeats,
    ) -> None:
        super().__init__(name=f"lane {device_id}", daemon=True)
        self._device_id = device_id
        self._places = places
        self._inbox = inbox
        self._wake = wake
        self._notices = notices
        self._heartbeats = heartbeats
        self._stopping = threading.Event()
        self._done = threading.Event()
        self._well = True
        self._begun: dict[Path, float] = {}

    def run(self) -> None:
        """Until stopped."""
        gates.be_patient()
        while not self._stopping.is_set():
            try:
                found = self._look()
                self._notices.well(f"{self.name} cannot be looked at")
            except (OSError, durable.PlaceNotReady) as error:
                found = []
                self._notices.failing(f"{self.name} cannot be looked at", reason=str(error))
            self._begun = {path: since_s for path, since_s in self._begun.items() if path in found}
            for path in found:
                if not self._hand_on(path):
                    break
            self._heartbeats.beat(self.name)
            self._stopping.wait(LOOK_S)

    def wake(self) -> None:
        """Nothing to do: it looks often enough."""

    def stop(self) -> None:
        """End soon; what is not followed stays where the press put it."""
        self._stopping.set()
        self._done.set()

    def _look(self) -> list[Path]:
        """Signals in the order of their names, then returned tickets.

        The folders are looked at the other way round: whatever a press signalled before it returned a ticket that is
        seen here is seen, too.
        """
        returned = self._names(self._places.returned)
        return [*self._names(self._places.status), *returned]

    def _names(self, folder: Path) -> list[Path]:
        durable.require_ready(folder)
        return [
            folder / name
            for name in sorted(gates.ask(folder, partial(os.listdir, folder)))
            if not name.startswith(".") and name.casefold().endswith((".jmf", ".jdf"))
        ]

    def _hand_on(self, path: Path) -> bool:
        """Whether to go on to the next file; if not, this one comes first at the next look."""
        if self._stopping.is_set():
            return False
        try:
            data = durable.read(path, MOST_BYTES)
        except OSError as error:
            self._notices.failing(f"{path} cannot be read", reason=str(error))
            return True
        if not root_is_closed(data):  # still being written; the next look sees more of it
            return clock.monotonic() - self._begun.setdefault(path, clock.monotonic()) > WRITING_S
        self._begun.pop(path, None)
        self._done.clear()
        self._inbox.put(PressFile(self._device_id, path, data, self._tell))
        self._wake()
        while not self._done.wait(1.0) and not self._stopping.is_set():
            self._heartbeats.beat(self.name)
        return self._well

    def _tell(self, well: bool) -> None:
        self._well = well
        self._done.set()
