"""The press's queue as JMF sees it: one small file for each entry, beside the tickets and their records."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from ticketbridge.press_sim import durable


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry.

    Attributes:
        serial: The press's number for the job: ``QueueEntry@QueueEntryID``.
        device_id: The lane.
        job_id: ``JDF@JobID``.
        job_part_id: ``JDF@JobPartID``.
        return_jmf: Where the ticket is given back; None leaves it in the lane's folder.
        submitted_at: When it was taken.
        status: ``QueueEntry@Status`` where it is not told by where the ticket lies: Held, Removed, or empty.
    """

    serial: str
    device_id: str
    job_id: str
    job_part_id: str
    return_jmf: str | None
    submitted_at: str
    status: str = ""


class Entries:
    """Every entry that ever came by message."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(exist_ok=True)
        self._folder = folder
        self._entries = {
            path.stem: Entry(**json.loads(path.read_bytes())) for path in sorted(folder.glob("*.json"))
        }

    def __iter__(self) -> Iterator[Entry]:
        return iter(list(self._entries.values()))

    def get(self, serial: str) -> Entry | None:
        """One entry by its serial."""
        return self._entries.get(serial)

    def keep(self, entry: Entry) -> None:
        """Write an entry down, durably."""
        durable.write(self._folder / f"{entry.serial}.json", json.dumps(asdict(entry)).encode())
        self._entries[entry.serial] = entry

    def mark(self, serial: str, status: str) -> None:
        """Held, Removed, or neither."""
        self.keep(replace(self._entries[serial], status=status))
