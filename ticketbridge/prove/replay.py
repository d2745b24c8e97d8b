"""What would change if another mapping went live: past tickets through both, compared in orders, lanes and tickets.

A ticket that means the same order by both goes to the same lane with the same ticket, since all that follows is made
of the order; so lanes and tickets are worked out only where the orders differ.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from difflib import unified_diff
from pathlib import Path
from typing import Any, Final, NamedTuple

from ticketbridge.accept.read import TicketRead
from ticketbridge.accept.readers.choose import read_orders
from ticketbridge.flow.deciding import decide
from ticketbridge.flow.lane.lane_tickets import lane_tickets
from ticketbridge.flow.meaning import meaning_of
from ticketbridge.jdf.writing import as_text
from ticketbridge.model.codes import sentence
from ticketbridge.model.order import Artwork
from ticketbridge.model.shop import Shop, Source
from ticketbridge.model.ticket import Ticket
from ticketbridge.prove.trial import Trial, content, shown, trial


@dataclass(frozen=True, slots=True)
class Side:
    """One of two mappings, in the shop as it is with it."""

    shop: Shop
    mapping_id: str


class Going(NamedTuple):
    """Where an item goes: the lane, and the text of the ticket for it."""

    lane: str
    ticket: str


NOWHERE: Final = Going("no lane", "")


@dataclass(frozen=True, slots=True)
class Change:
    """One value, lane or ticket that would be another one: where, before, after."""

    at: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class OrderChange:
    """One order that would not be the same.

    Attributes:
        file: The file it stands in.
        job_id: Its number.
        values: Values of the order that would be others, or that it would be refused.
        lanes: Items that would go to another lane.
        tickets: Lane tickets that would be others: the lines that differ.
    """

    file: str
    job_id: str
    values: tuple[Change, ...]
    lanes: tuple[Change, ...] = ()
    tickets: tuple[tuple[str, ...], ...] = ()


@dataclass(slots=True)
class Replay:
    """A folder of past tickets under two mappings: how much was compared, and every order that differs."""

    files: int = 0
    orders: int = 0
    changed: list[OrderChange] = field(default_factory=list)


def replay(files: Sequence[Path], old: Side, new: Side, at: datetime, agent_version: str) -> Replay:
    """Compare.

    Args:
        files: Past tickets.
        old: The mapping as it is.
        new: The mapping that may go live.
        at: The time, for lanes and tickets.
        agent_version: The version that tickets carry.
    """
    found = Replay()
    for file in files:
        found.files += 1
        before, after = _both(file, old, new)
        for one, other in _paired(before, after):
            found.orders += 1
            values = tuple(_values(one, other))
            if values:
                found.changed.append(_followed(one, other, values, old, new, at, agent_version))
    return found


def _both(file: Path, old: Side, new: Side) -> tuple[tuple[Trial, ...], tuple[Trial, ...]]:
    """The file by both; read once where both read it alike."""
    data, name = content(file, old.shop), file.name.rpartition("~")[2] or file.name
    mappings = [side.shop.mappings[side.mapping_id] for side in (old, new)]
    alike = mappings[0].reads == mappings[1].reads and mappings[0].tables == mappings[1].tables
    read = [
        read_orders(data, name, mapping, side.shop.settings.limits, side.shop.settings.time_zone)
        for mapping, side in zip(mappings[: 1 if alike else 2], (old, new), strict=False)
    ]
    before, after = (
        tuple(
            trial(name, ticket, findings, side.shop, mapping, old.mapping_id) for ticket, findings in tickets
        )
        for tickets, mapping, side in zip((read[0], read[-1]), mappings, (old, new), strict=True)
    )
    return before, after


def _paired(before: Sequence[Trial], after: Sequence[Trial]) -> Iterator[tuple[Trial | None, Trial | None]]:
    """Orders by their number; those without one by their place in the file."""

    def named(found: Sequence[Trial]) -> dict[str, Trial]:
        return {one.job_id or f"number {place}": one for place, one in enumerate(found, start=1)}

    old, new = named(before), named(after)
    for name in dict.fromkeys((*old, *new)):
        yield old.get(name), new.get(name)


def _values(one: Trial | None, other: Trial | None) -> Iterator[Change]:
    before, after = _plain(one), _plain(other)
    if before is None or after is None:
        if before != after or _told(one) != _told(other):
            yield Change("the order", _told(one), _told(other))
        return
    yield from _compared("", before, after)


def _plain(one: Trial | None) -> dict[str, Any] | None:
    return one.order.model_dump(mode="json") if one and one.order else None


def _told(one: Trial | None) -> str:
    if one is None:
        return "is not there"
    if one.order is not None:
        return "is taken"
    return "is refused: " + " ".join(dict.fromkeys(sentence(finding) for finding in one.findings))


def _compared(at: str, before: Any, after: Any) -> Iterator[Change]:
    if isinstance(before, dict) and isinstance(after, dict):
        for name in dict.fromkeys((*before, *after)):
            yield from _compared(f"{at}.{name}" if at else name, before.get(name), after.get(name))
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for place, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from _compared(f"{at}[{place}]", one, other)
    elif before != after:
        yield Change(at, shown(before), shown(after))


def _followed(
    one: Trial | None,
    other: Trial | None,
    values: tuple[Change, ...],
    old: Side,
    new: Side,
    at: datetime,
    agent_version: str,
) -> OrderChange:
    known = one or other
    assert known is not None  # noqa: S101  one of the two is there
    before = _goings(one, old, at, agent_version)
    after = _goings(other, new, at, agent_version)
    pairs = [(part, before.get(part, NOWHERE), after.get(part, NOWHERE)) for part in {**before, **after}]
    lanes = tuple(Change(f"item {part}", a.lane, b.lane) for part, a, b in pairs if a.lane != b.lane)
    tickets = (tuple(_lines(a.ticket, b.ticket)) for _, a, b in pairs)
    name = known.job_id or "without a number"
    return OrderChange(known.file, name, values, lanes, tuple(lines for lines in tickets if lines))


def _goings(one: Trial | None, side: Side, at: datetime, agent_version: str) -> dict[str, Going]:
    """Of each item by its part: where it goes with every lane idle."""
    if one is None or one.order is None or one.ticket is None:
        return {}
    source = Source(id=one.order.source, folder="replay", mapping=side.mapping_id)
    read = TicketRead(one.ticket, tuple(_artworks(one.ticket)), one.findings)
    meaning = meaning_of(read, one.file, side.shop, source)
    decided = decide(meaning, file=one.file, shop=side.shop, source=source, states={}, now=at)
    if decided.order is None:
        return {}
    tickets = lane_tickets(decided, side.shop, at, agent_version)
    return {
        item.job_part_id: Going(best.lane.device_id, as_text(ticket) if ticket is not None else "")
        for item, best, ticket in zip(decided.order.items, decided.chosen, tickets, strict=True)
        if best is not None
    }


def _artworks(ticket: Ticket) -> Iterator[Artwork | None]:
    """The artwork as the tickets name it: files of past tickets may be gone."""
    for item in ticket.items:
        url = item.values.get("artwork_url")
        yield Artwork(url=str(url.value)) if url else None


def _lines(before: str, after: str) -> Iterator[str]:
    """The lines of a ticket that differ."""
    for line in unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0):
        if not line.startswith(("---", "+++", "@@")):
            yield line
