"""What is old goes into archives, a month and a kind at a time, and nothing goes that is still needed.

First the archive, durable and read back. Then the store says that the files stand there. Then they are taken away. A
crash between the first two leaves the files where they are, and a copy too many; between the last two it leaves
them where the store no longer looks, and the next look takes them away.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Final

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.moving_out import ACCEPTED, ARTWORK, NOTE_ENDING, REFUSED, REPEATED
from ticketbridge.model.keeping import Kind, month_of
from ticketbridge.model.share import REQUESTS
from ticketbridge.spool import durable, gates
from ticketbridge.spool.archives import ToArchive, write_archive
from ticketbridge.spool.backups import files_below
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.places import CLAIM_SEPARATOR, SourcePlaces, claim_of
from ticketbridge.store.keeping import ARCHIVED, KnownFile, ReceivedId
from ticketbridge.store.records import Message
from ticketbridge.store.store import Store
from ticketbridge.store.transaction import Transaction

KINDS: Final = {ACCEPTED: Kind.TICKETS, REPEATED: Kind.TICKETS, REFUSED: Kind.TICKETS, ARTWORK: Kind.ARTWORK}
"""Folders that hold dropped files."""


@dataclass(slots=True)
class Month:
    """What goes into one archive.

    Attributes:
        things: What goes in, by its name inside.
        claims: Files that the store knows, by their names inside.
        messages: Messages of the outbox.
    """

    name: str
    things: dict[str, ToArchive] = field(default_factory=dict)
    claims: dict[str, str] = field(default_factory=dict)
    messages: list[Message] = field(default_factory=list)


def months_to_archive(bridge: Bridge, tx: Transaction, now: datetime) -> list[Month]:
    """What may go now of what this bridge serves, oldest month first.

    What stands in an archive already, and was not taken away because of a crash, is taken away.

    Args:
        bridge: The bridge; only what never changes while it runs is asked of it.
        tx: A read-only view.
        now: Now.
    """
    return _Looking(bridge, tx, now).months()


def archive_month(
    bridge: Bridge, month: Month, commit: Callable[[Callable[[Bridge], None]], None], beat: Callable[[], None]
) -> Path:
    """Write one archive, let the store know, take the files away.

    Args:
        bridge: The bridge.
        month: What goes in.
        commit: Has something done by the one who moves jobs.
        beat: Called now and then.

    Raises:
        OSError: The disk cannot do it now; whatever was not taken away is tried again.
        ArchiveBroken: What was written does not read back.
    """
    archive, hashes = write_archive(bridge.places.archive, month.name, list(month.things.values()), beat)
    claims = {claim_id for name, claim_id in month.claims.items() if name in hashes}
    needed: set[str] = set()

    def note(bridge: Bridge) -> None:
        with bridge.store.transaction() as tx:
            needed.update(claims & tx.open_claims())
            tx.note_archived(claims - needed, archive.name, len(hashes), bridge.now())
            tx.forget_messages(month.messages)

    commit(note)
    for name, thing in month.things.items():
        if thing.path is not None and name in hashes and month.claims.get(name) not in needed:
            durable.remove_archived(thing.path, hashes[name])
            beat()
    return archive


def forget_received(
    bridge: Bridge, view: Store, now: datetime, commit: Callable[[Callable[[Bridge], None]], None]
) -> int:
    """Forget the IDs of messages that were received too long ago to come again. Returns how many.

    Args:
        bridge: The bridge.
        view: A read-only view of its store: what is old is looked for beside the work.
        now: Now.
        commit: Has something done by the one who moves jobs.
    """
    before = bridge.shop.settings.keeping.forgotten_before(now)
    count = 0
    while before is not None and bridge.share.has(REQUESTS):
        with view.transaction() as tx:
            old = tx.received_before(before)
        if not old:
            break
        commit(partial(_forget, received=old))
        count += len(old)
    return count


def _forget(bridge: Bridge, received: Sequence[ReceivedId]) -> None:
    with bridge.store.transaction() as tx:
        tx.forget_received(received)


class _Looking:
    """One look through the folders."""

    def __init__(self, bridge: Bridge, tx: Transaction, now: datetime) -> None:
        self._bridge, self._tx, self._now = bridge, tx, now
        self._keeping = bridge.shop.settings.keeping
        self._months: dict[str, Month] = {}

    def months(self) -> list[Month]:
        bridge = self._bridge
        known, needed = self._tx.known_files(), self._tx.last_needed()
        for source_id in bridge.my_sources:
            source = bridge.source_places(source_id)
            for place, kind in KINDS.items():
                if self._keeping.days_of(kind) is not None:
                    self._dropped(source, place, kind, known, needed)
            self._by_time(source.returned, Kind.RETURNED, source_id)
            self._by_time(source.status, Kind.MESSAGES, source_id)
        for device_id in bridge.my_lanes:
            self._by_time(bridge.lane_places(device_id).followed, Kind.PRESS_FILES, device_id)
        if bridge.share.has(REQUESTS):
            self._outbox()
        return [self._months[name] for name in sorted(self._months)]

    def _dropped(
        self,
        source: SourcePlaces,
        place: str,
        kind: Kind,
        known: Mapping[str, KnownFile],
        needed: Mapping[str, datetime | None],
    ) -> None:
        """Files under our own names, and artwork that came in a package, which has none."""
        packed: dict[str, datetime | None] | None = None
        for path, modified in _old_files(source.folder / place):
            if not self._keeping.may_go(kind, modified, self._now):
                continue
            claim_id = claim_of(path.name)[0] if CLAIM_SEPARATOR in path.name else ""
            file = known.get(claim_id)
            is_note = path.name.endswith(NOTE_ENDING)
            if file is not None and file.place == ARCHIVED:  # a crash came before it was taken away
                durable.remove_note(path) if is_note else durable.remove_archived(path, file.sha256)
            elif is_note:
                continue  # it goes with the file that it is about
            elif file is not None and file.place == place:
                until = needed.get(claim_id, file.at)
                self._put(kind, file.source, until and max(until, file.at), path, claim_id)
            elif place == ARTWORK and file is None and path.parent != source.artwork:
                packed = self._tx.artwork_needed() if packed is None else packed
                until = packed.get(str(gates.ask(path, path.resolve)), modified)
                self._put(kind, source.folder.name, until and max(until, modified), path)

    def _by_time(self, folder: Path, kind: Kind, whose: str) -> None:
        for path, modified in _old_files(folder):
            self._put(kind, whose, modified, path)

    def _outbox(self) -> None:
        before = self._keeping.archived_before(Kind.MESSAGES, self._now)
        for message in self._tx.sent_messages(before) if before else ():
            month = self._month(message.at, "outbox", Kind.MESSAGES)
            name = f"outbox/{message.channel}/{message.seq:08d}-{message.file_name}"
            month.things[name] = ToArchive(name, None, message.body)
            month.messages.append(message)

    def _put(
        self, kind: Kind, whose: str, until: datetime | None, path: Path, claim_id: str | None = None
    ) -> None:
        if until is None or not self._keeping.may_go(kind, until, self._now):
            return
        month = self._month(until, whose, kind)
        name = self._inside(path)
        month.things[name] = ToArchive(name, path)
        note = path.with_name(f"{path.name}{NOTE_ENDING}")
        if claim_id is not None:
            month.claims[name] = claim_id
            if gates.ask(note, note.is_file):
                month.things[self._inside(note)] = ToArchive(self._inside(note), note)
                month.claims[self._inside(note)] = claim_id

    def _inside(self, path: Path) -> str:
        """The name in an archive: below the shop folder where it lies there."""
        folder = self._bridge.places.folder
        name = path.relative_to(folder) if path.is_relative_to(folder) else Path(*path.parts[1:])
        return str(name).encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")

    def _month(self, moment: datetime, whose: str, kind: Kind) -> Month:
        name = f"{month_of(moment)}-{whose}-{kind}"
        return self._months.setdefault(name, Month(name))


def _old_files(folder: Path) -> list[tuple[Path, datetime]]:
    """Files below a folder with the time of their last change; none where its share is away."""
    try:
        return gates.ask(folder, lambda: list(_with_times(folder)))
    except (FileNotFoundError, durable.PlaceNotReady, ShareHangs):
        return []


def _with_times(folder: Path) -> Iterator[tuple[Path, datetime]]:
    durable.require_ready(folder)
    for path in files_below(folder):
        gates.still_going()
        if path.is_file() and not path.name.startswith("."):
            yield path, datetime.fromtimestamp(path.stat().st_mtime, UTC)
