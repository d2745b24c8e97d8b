"""A backup of a shop while its bridge runs: first the store as it is at one moment, then the files to it.

Files go on their way meanwhile, so folders are read in the order in which files pass through them, and what was
seen once is not taken again. A file that the copied store knows is put where that store says; one that came after it
is put back among the claimed ones, where a start takes it in. Tickets that lie in a lane are left out: the press
may have printed them long before anybody restores, so the store is asked and people are (see ``restoring``).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from ticketbridge.accept.submitted import is_submitted, note_beside
from ticketbridge.flow.moving_out import NOTE_ENDING
from ticketbridge.model.job import as_text
from ticketbridge.spool import durable
from ticketbridge.spool.backups import BackupWriter, files_below
from ticketbridge.spool.places import CLAIM_SEPARATOR, LanePlaces, ShopPlaces, SourcePlaces, claim_of
from ticketbridge.store.copying import copy_store
from ticketbridge.store.keeping import KnownFile
from ticketbridge.store.store import open_view
from ticketbridge.vocabulary.names import MARKER_NAME

PASSED_THROUGH: Final = (
    "refused", "drop", "claimed", "waiting", "claimed", "accepted", "artwork", "repeated", "refused", "status",
    "returned",
)  # fmt: skip
"""Folders of a source in the order in which files pass through them; a refused one may be tried again, one that
waited is claimed again."""
MOVED: Final = frozenset({"claimed", "waiting", "accepted", "artwork", "repeated", "refused"})
"""Folders whose files carry our own names, by which the store knows them."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """What went into a backup.

    Attributes:
        files: How many files.
        jobs: How many jobs its store knows.
        left_out: Configured folders outside the shop folder, which are not in it.
    """

    files: int
    jobs: int
    left_out: tuple[Path, ...]


def back_up(
    places: ShopPlaces,
    source_folders: Mapping[str, str],
    lane_folders: Mapping[str, str],
    target: Path,
    now: datetime,
    version: str,
) -> BackedUp:
    """Write a backup; it shows under its name when it is whole and durable.

    Args:
        places: The shop folder.
        source_folders: The folder of each source, by its id.
        lane_folders: The folder of each lane, by its DeviceID.
        target: The file to write; it must not be there.
        now: Now.
        version: Of this program.

    Raises:
        FileExistsError: The file is there.
        OSError: Something cannot be read or written.
        sqlite3.Error: The store cannot be copied.
    """
    sources = [places.source(folder) for folder in source_folders.values()]
    lanes = [places.lane(folder) for folder in lane_folders.values()]
    theirs = [source.folder for source in sources] + [lane.folder for lane in lanes]
    outside = [folder for folder in theirs if not folder.is_relative_to(places.folder)]
    followed = {one.folder: _names(one.followed) for one in lanes}
    writer = BackupWriter(target)
    store = writer.temporary.with_suffix(".store")
    try:
        durable.remove_note(store)
        copy_store(places.database, store)
        known, jobs = _known(store)
        gathered = _Gathering(places, writer)
        gathered.put(places.database, store)
        for source in [one for one in sources if one.folder not in outside]:
            gathered.source(source, known)
        for lane in [one for one in lanes if one.folder not in outside]:
            gathered.lane(lane, followed[lane.folder])
        gathered.rest(theirs, {writer.temporary, store, target})
        writer.finish(as_text(now), version, places.folder)
    except BaseException:
        writer.give_up()
        raise
    finally:
        durable.remove_note(store)
    return BackedUp(len(writer.hashes), jobs, tuple(outside))


def _known(store: Path) -> tuple[dict[str, KnownFile], int]:
    view = open_view(store)
    try:
        with view.transaction() as tx:
            return tx.known_files(), sum(1 for _ in tx.histories())
    finally:
        view.close()


def _names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()} if folder.is_dir() else set()


class _Gathering:
    """Puts files into a backup, each once, under the names that they had when the store was copied."""

    def __init__(self, places: ShopPlaces, writer: BackupWriter) -> None:
        self._places = places
        self._writer = writer
        self._seen: dict[tuple[int, int], Path] = {}

    def source(self, source: SourcePlaces, known: Mapping[str, KnownFile]) -> None:
        """The folders of a source."""
        for folder in (source.folder, *source.all()):
            self._folder(folder)
        for name in PASSED_THROUGH:
            folder = source.folder / name
            for path in _below(folder):
                shown: Path | None = path
                if name in MOVED and path.parent == folder and CLAIM_SEPARATOR in path.name:
                    shown = self._as_copied(source, path, known)
                if shown is not None:
                    self.put(shown, path)

    def _as_copied(self, source: SourcePlaces, path: Path, known: Mapping[str, KnownFile]) -> Path | None:
        """Where a file of ours lay by the copied store. One that came later was not taken in yet; it has no note."""
        claim_id, original_name = claim_of(path.name)
        file = known.get(claim_id)
        if file is not None:
            return source.folder / (file.place if file.place in MOVED else path.parent.name) / path.name
        if original_name.endswith(NOTE_ENDING):
            return None
        note = note_beside(source.claimed / path.name, claim_id)
        if is_submitted(claim_id) and str(note.relative_to(self._places.folder)) not in self._writer.hashes:
            return source.drop / f"{claim_id}-{original_name}"  # what the message said of it is gone by now
        return (source.waiting if path.parent == source.waiting else source.claimed) / path.name

    def lane(self, lane: LanePlaces, followed: set[str]) -> None:
        """The folders of a lane; of those that the press takes from, only the markers."""
        for folder in (lane.folder, *lane.all()):
            self._folder(folder)
        for folder in (lane.tickets, lane.artwork):
            self.put(folder / MARKER_NAME, folder / MARKER_NAME)
        for folder in (lane.status, lane.returned):
            for path in _below(folder):
                self.put(path, path)
        for path in _below(lane.followed):
            back = lane.returned if path.suffix == ".jdf" else lane.status
            self.put((lane.followed if path.name in followed else back) / path.name, path)

    def rest(self, done: list[Path], not_these: set[Path]) -> None:
        """Everything else in the shop folder: its settings, its artwork, its archives."""
        state = self._places.state
        for path in files_below(self._places.folder, {*done, *not_these, state}):
            self._folder(path) if path.is_dir() else self.put(path, path)
        kept = self._places.kept_mappings
        for path in (state, kept, *(files_below(kept) if kept.is_dir() else ()), state / MARKER_NAME):
            self._folder(path) if path.is_dir() else self.put(path, path)

    def put(self, shown: Path, path: Path) -> None:
        """One file, under the name that it is shown with."""
        name = str(shown.relative_to(self._places.folder))
        try:
            status = path.lstat()
        except FileNotFoundError:
            return
        before = self._seen.setdefault((status.st_dev, status.st_ino), path)
        moved_on = before != path and not before.exists()
        if not moved_on and name not in self._writer.hashes:
            self._writer.add(name, path)

    def _folder(self, folder: Path) -> None:
        if folder.is_dir():
            self._writer.add_folder(str(folder.relative_to(self._places.folder)), folder)


def _below(folder: Path) -> Iterator[Path]:
    """The files in a folder and in those below it."""
    if folder.is_dir():
        yield from (path for path in files_below(folder) if not path.is_dir() and path.suffix != ".tmp")
