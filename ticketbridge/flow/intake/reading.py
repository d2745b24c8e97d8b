"""Claimed files taken and read: durable where they lie, then their orders, mapped. Changes nothing in the store.

Files are read before the store is asked for anything: a PDF may take seconds, and nothing slow happens inside
a transaction. Where more files wait than one batch takes, those of the next are read ahead by child processes,
unless their source or its artwork lies on a share that may hang: that one is asked through its gate alone.
"""

from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Final

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.read import Setting
from ticketbridge.accept.submitted import is_resubmitted
from ticketbridge.extract.beside import LIMIT_S, Once, chunks_of
from ticketbridge.flow.bridge import Bridge, artwork_folders, artwork_rows
from ticketbridge.flow.children import Found, Orders, found_in_several, orders_in
from ticketbridge.flow.taking import Taken, take_one
from ticketbridge.model.shop import Shop
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import resolved, share_of


@dataclass(frozen=True, slots=True)
class Readings:
    """A taken file with the orders that were read in it, as far as they say the same at any moment."""

    taken: Taken
    orders: Orders


@dataclass(frozen=True, slots=True)
class Begun:
    """Files of one source that a child takes and reads."""

    files: Sequence[Claimed]
    found: "Future[list[Found | None]]"


@dataclass(frozen=True, slots=True)
class Ahead:
    """Files that are being taken and read while others are decided.

    Attributes:
        shop: The shop that they are read by; of no use once another one is gone by.
        chunks: The files, a few together.
    """

    shop: Shop | None = None
    chunks: tuple[Begun, ...] = ()


NOTHING_AHEAD: Final = Ahead()


def is_new_ticket(claimed: Claimed) -> bool:
    """Whether it is a file with orders, and neither a message nor meant for an entry that the queue has."""
    return kind_of(claimed.original_name) is not Kind.MESSAGE and not is_resubmitted(claimed.claim_id)


def read_ahead(bridge: Bridge, batch: Sequence[Claimed]) -> Ahead:
    """Begin to take and read the next batch, but for PDFs, which may take long. Only while children are ready."""
    limit = bridge.shop.settings.limits.ticket_bytes
    files = [one for one in batch if is_new_ticket(one) and kind_of(one.original_name) is not Kind.PDF]
    begun: list[Begun] = []
    for source_id, mine in _by_source(files):
        if _may_hang(bridge, source_id):
            continue
        setting, kept = _setting(bridge, source_id)
        by = Once.of((setting, bridge.shop))
        begun += [
            Begun(some, bridge.beside.begin(bridge.beside.call, found_in_several, some, limit, kept, by))
            for some in chunks_of(mine)
        ]
    return Ahead(bridge.shop, tuple(begun))


def _may_hang(bridge: Bridge, source_id: str) -> bool:
    """Whether a source or artwork that its tickets may name lies on a share that may hang by itself."""
    folders = artwork_folders(bridge.places, bridge.sources[source_id])
    return any(share_of(folder) for folder in (bridge.source_places(source_id).claimed, *folders))


def read_all(bridge: Bridge, batch: Sequence[Claimed], ahead: Ahead = NOTHING_AHEAD) -> list[Readings]:
    """Take every file of a batch and read it, as far as children have not. One that was taken in already is passed over.

    What lies on a share that hangs, or has its artwork there, is left where it is claimed until that share answers.

    Raises:
        OSError: The disk is at fault, and not a single file.
    """
    left, found = dict.fromkeys(batch), dict[Claimed, Readings]()
    setting_of = cache(partial(_setting, bridge))

    def read_here(files: Sequence[Claimed]) -> None:
        for source_id, mine in _by_source(files):
            for one in _taken(bridge, source_id, mine):
                setting, kept = setting_of(source_id)
                try:
                    found[one.claimed] = Readings(one, orders_in(one, kept, setting, bridge.shop))
                except ShareHangs as error:
                    bridge.put_off_source(source_id, error)

    # Children go from the front, so that nobody waits for them while there is something to read.
    for begun in reversed(ahead.chunks if ahead.shop is bridge.shop else ()):
        mine = [one for one in begun.files if one in left]
        given = _given(begun) if mine else None
        if given is None:
            read_here(mine)
        else:
            pairs = zip(begun.files, given, strict=True)
            found |= {one: _readings(one, got) for one, got in pairs if got is not None and one in left}
        for one in mine:
            del left[one]
    read_here(list(left))
    lying = set(_lying(bridge, found))
    return [found[one] for one in batch if one in lying]


def _given(begun: Begun) -> list[Found | None] | None:
    """What a child found; None where it did not."""
    if begun.found.cancel():
        return None
    try:
        return begun.found.result(LIMIT_S)
    except (
        Exception
    ):  # the child ended, or is held by a share that hangs, or a file is at fault: read here it tells
        return None


def _readings(claimed: Claimed, found: Found) -> Readings:
    return Readings(Taken(claimed, found.content, found.fault, found.submission), found.orders)


def _taken(bridge: Bridge, source_id: str, files: Sequence[Claimed]) -> list[Taken]:
    """Files of one source, taken here."""
    folder, limit = bridge.source_places(source_id).claimed, bridge.shop.settings.limits.ticket_bytes
    try:
        taken = bridge.on_disk(folder, [partial(take_one, one, limit) for one in files])
    except ShareHangs as error:
        bridge.put_off_source(source_id, error)
        return []
    return [one for one in taken if one is not None]


def _lying(bridge: Bridge, files: Iterable[Claimed]) -> Iterator[Claimed]:
    """Those that still lie among the claimed ones, their names durable."""
    for source_id, mine in _by_source(files):
        try:
            lying = [one for one in mine if durable.is_there(one.path)]
            if lying:
                durable.sync_folder(bridge.source_places(source_id).claimed)
        except ShareHangs as error:
            bridge.put_off_source(source_id, error)
        else:
            yield from lying


def _by_source(files: Iterable[Claimed]) -> list[tuple[str, list[Claimed]]]:
    found: dict[str, list[Claimed]] = {}
    for one in files:
        found.setdefault(one.source_id, []).append(one)
    return list(found.items())


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
