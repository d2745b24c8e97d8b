"""A shop out of a backup. The presses went on after it was made, so nothing goes to them before people have looked.

What a press had, and had not begun by what the store knows, is in doubt: a person says whether the press has it.
What waited may have been handed over since: every lane is held until a person has compared and lets it go on.
New jobs and messages get numbers that nobody has heard of, so that no answer to an old one is taken for a new one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from ticketbridge.spool import durable
from ticketbridge.spool.backups import Manifest, unpack
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import open_store
from ticketbridge.vocabulary.names import MARKER_NAME

NUMBERS_LEFT_FREE: Final = 100_000
"""More jobs, and more messages of one subscriber, than come between a backup and the day that it is needed."""


class FolderTaken(Exception):
    """The folder to restore into has something in it."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What people must look at.

    Attributes:
        in_doubt: Jobs whose tickets were at a press that had not begun.
        waiting: Jobs that the bridge held, or that waited.
    """

    in_doubt: tuple[str, ...]
    waiting: tuple[str, ...]


def unpack_shop(backup: Path, folder: Path) -> Manifest:
    """Unpack a backup. Without the marker of its state folder, which ``settle`` writes, no bridge runs on it.

    Raises:
        FolderTaken: The folder is not empty.
        BackupBroken: The file is no whole backup.
        OSError: The disk does not take it.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FolderTaken(str(folder))
    marker = ShopPlaces(folder).state / MARKER_NAME
    return unpack(backup, folder, str(marker.relative_to(folder)))


def settle(folder: Path, was: Path, device_ids: Sequence[str], now: datetime) -> Restored:
    """Make a store of what was unpacked that knows that the presses went on without it.

    Args:
        folder: The restored shop folder, absolute.
        was: Where it lay when the backup was made.
        device_ids: The lanes.
        now: Now.
    """
    places = ShopPlaces(folder)
    store = open_store(places.database)
    try:
        with store.transaction() as tx:
            in_doubt = tx.doubt_deliveries()
            for device_id in device_ids:
                tx.hold_queue(device_id)
            tx.leave_numbers_free(NUMBERS_LEFT_FREE, now)
            if was != folder:
                tx.move_artwork(was, folder)
            waiting = [job.queue_entry_id for job in tx.open_jobs() if not job.given]
    finally:
        store.close()
    state = places.state
    durable.write_and_sync(state / MARKER_NAME, b"the bridge's store; no other program writes here\n")
    (state / MARKER_NAME).chmod(0o644)
    durable.sync_folder(state)
    return Restored(tuple(in_doubt), tuple(waiting))
