"""Claimed files taken and read: durable where they lie, then their orders, mapped. Changes nothing in the store.

Files are read before the store is asked for anything: a PDF may take seconds, and nothing slow happens inside
a transaction. Where more files wait than one batch takes, those of the next are read ahead by child processes,
unless their source or its artwork lies on a share that may hang: that one is asked through its gate alone.
"""

import errno
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path
from typing import Final

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.read import Content, Setting, content_of
from ticketbridge.accept.submitted import is_resubmitted, submission_of
from ticketbridge.extract.beside import LIMIT_S, Beside, Once, chunks_of
from ticketbridge.flow.bridge import Bridge, artwork_folders, artwork_rows
from ticketbridge.flow.children import Orders, orders_in, orders_in_several
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.shop import Shop
from ticketbridge.model.submission import Submission
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import resolved, share_of

FILE_FAULTS: Final = frozenset({errno.EACCES, errno.EPERM, errno.ELOOP, errno.EISDIR, errno.ENXIO})
"""What a single file can be at fault for: no right to read it, a link or a special file in its place."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A claimed file, read and durable where it lies."""

    claimed: Claimed
    content: Content
    fault: Finding | None = None
    """Why it cannot be read."""
    submission: Submission | None = None
    """What the message said that brought it; None where it was dropped."""


@dataclass(frozen=True, slots=True)
class Readings:
    """A taken file with the orders that were read in it, as far as they say the same at any moment."""

    taken: Taken
    orders: Orders


@dataclass(frozen=True, slots=True)
class OnItsWay:
    """A file that is being taken and read, one of a chunk.

    Attributes:
        taking: The chunk, read and made durable.
        reading: What is read in it.
        place: Of this file in the chunk.
    """

    taking: "Future[list[Taken | None]]"
    reading: "Future[list[Orders]]"
    place: int


@dataclass(frozen=True, slots=True)
class Ahead:
    """Files that are being taken and read while others are decided.

    Attributes:
        shop: The shop that they are read by; of no use once another one is gone by.
        files: Each of them.
    """

    shop: Shop | None = None
    files: dict[Claimed, OnItsWay] = field(default_factory=dict)


NOTHING_AHEAD: Final = Ahead()


def is_new_ticket(claimed: Claimed) -> bool:
    """Whether it is a file with orders, and neither a message nor meant for an entry that the queue has."""
    return kind_of(claimed.original_name) is not Kind.MESSAGE and not is_resubmitted(claimed.claim_id)


def read_ahead(bridge: Bridge, batch: Sequence[Claimed]) -> Ahead:
    """Begin to take and read the next batch. Only while children are ready."""
    limit = bridge.shop.settings.limits.ticket_bytes
    unguarded = {
        source_id for source_id in {one.source_id for one in batch} if not _may_hang(bridge, source_id)
    }
    files = [one for one in batch if is_new_ticket(one) and one.source_id in unguarded]
    begun: dict[Claimed, OnItsWay] = {}
    for source_id in {one.source_id for one in files}:
        setting, kept = _setting(bridge, source_id)
        by = Once.of((setting, bridge.shop))
        for chunk in chunks_of([one for one in files if one.source_id == source_id]):
            taking = bridge.disk.submit(_take_chunk, chunk, limit)
            reading = bridge.beside.begin(_read_apart, bridge.beside, taking, by, kept)
            begun |= {one: OnItsWay(taking, reading, place) for place, one in enumerate(chunk)}
    return Ahead(bridge.shop, begun)


def _may_hang(bridge: Bridge, source_id: str) -> bool:
    """Whether a source or artwork that its tickets may name lies on a share that may hang by itself."""
    folders = artwork_folders(bridge.places, bridge.sources[source_id])
    return any(share_of(folder) for folder in (bridge.source_places(source_id).claimed, *folders))


def _read_apart(
    beside: Beside,
    taking: "Future[list[Taken | None]]",
    by: Once[tuple[Setting, Shop]],
    kept: Path,
) -> list[Orders]:
    files = taking.result()
    named = [_named(one, kept) if one is not None and one.fault is None else None for one in files]
    return beside.call(orders_in_several, named, by)


def take(bridge: Bridge, batch: Sequence[Claimed], ahead: Ahead = NOTHING_AHEAD) -> list[Taken]:
    """Read the files and make them durable where they lie now. A file that was taken in already is passed over.

    Files of a source whose share hangs stay claimed, and the others go on.

    Raises:
        OSError: The disk is at fault, and not a single file.
    """
    limit = bridge.shop.settings.limits.ticket_bytes
    by_source: dict[str, list[Claimed]] = {}
    for one in batch:
        by_source.setdefault(one.source_id, []).append(one)
    found: list[Taken] = []
    for source_id, mine in by_source.items():
        folder = bridge.source_places(source_id).claimed
        try:
            begun = {} if share_of(folder) else ahead.files
            others = [partial(_take_one, one, limit) for one in mine if one not in begun]
            just_taken = iter(bridge.on_disk(folder, others))
            taken = [_from_chunk(begun[one]) if one in begun else next(just_taken) for one in mine]
            lying = [one for one in taken if one is not None and durable.is_there(one.claimed.path)]
            if lying:
                durable.sync_folder(folder)
        except ShareHangs as error:
            bridge.put_off_source(source_id, error)
        else:
            found += lying
    return found


def _from_chunk(begun: OnItsWay) -> Taken | None:
    return begun.taking.result()[begun.place]


def _take_chunk(chunk: Sequence[Claimed], limit: int) -> list[Taken | None]:
    return [_take_one(one, limit) for one in chunk]


def _take_one(claimed: Claimed, limit: int) -> Taken | None:
    """The file's content, or why it cannot be read. A fault of the disk is nobody's ticket's and goes up."""
    try:
        content = content_of(claimed.path, claimed.original_name, limit)
        return Taken(claimed, content, submission=submission_of(claimed))
    except FileNotFoundError:
        return None
    except OSError as error:
        if error.errno not in FILE_FAULTS:
            raise
        finding = Finding("intake.unreadable", Place(claimed.original_name), {"reason": error.strerror})
        return Taken(claimed, Content(b"", ""), finding)


def read_all(bridge: Bridge, taken: Sequence[Taken], ahead: Ahead = NOTHING_AHEAD) -> list[Readings]:
    """Read every file of a batch; one that cannot be read has no orders.

    One whose artwork lies on a share that hangs is left where it is claimed, until that share answers.
    """
    setting_of = cache(partial(_setting, bridge))
    found = []
    for one in reversed(
        taken
    ):  # children go from the front, so that nobody waits while there is something to read
        try:
            orders = _orders_ahead(bridge, one, ahead)
            if orders is None:
                setting, kept = setting_of(one.claimed.source_id)
                orders = orders_in(*_named(one, kept), setting, bridge.shop) if one.fault is None else ()
            found.append(Readings(one, orders))
        except ShareHangs as error:
            bridge.put_off_source(one.claimed.source_id, error)
    return found[::-1]


def _orders_ahead(bridge: Bridge, one: Taken, ahead: Ahead) -> Orders | None:
    """What a child has read in a file; None where it did not, or by another shop than is gone by now."""
    begun = ahead.files.get(one.claimed)
    if begun is None or ahead.shop is not bridge.shop or begun.reading.cancel():
        return None
    try:
        return begun.reading.result(LIMIT_S)[begun.place]
    except (
        Exception
    ):  # the child ended, or is held by a share that hangs, or the file is at fault: read here it tells
        return None


def _named(one: Taken, kept: Path) -> tuple[Content, str, Path]:
    """What reading needs of a file; a PDF that came alone lies among the kept ones from now on."""
    return one.content, one.claimed.original_name, kept / one.claimed.path.name


def _setting(bridge: Bridge, source_id: str) -> tuple[Setting, Path]:
    """What files of a source are read by, and where artwork that came alone is kept."""
    source, places = bridge.sources[source_id], bridge.source_places(source_id)
    setting = Setting(
        settings=bridge.shop.settings,
        source=source,
        mapping=bridge.shop.mappings[source.mapping],
        drop=places.drop,
        roots=bridge.artwork_roots(source_id),
        now=bridge.now(),
        rows=artwork_rows(bridge.places, source),
    )
    return setting, resolved(places.artwork)
