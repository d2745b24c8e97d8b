"""Which values of past tickets a mapping has no answer for, how often, and what they most likely mean."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Final

from ticketbridge.model.finding import Finding
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.shop import Shop
from ticketbridge.model.spelling import folded
from ticketbridge.model.ticket_field import WORDS_OF, TicketField
from ticketbridge.prove.trial import Trial

NEAR: Final = 0.5
"""How alike two texts must be, from 0 to 1, for one to be named as what the other may mean."""
MOST_NAMED: Final = 3

_SUBSTRATE_CODES: Final = frozenset({"mapping.substrate-unknown", "mapping.substrate-table-empty"})
_VALUE_OF: Final = {
    "mapping.print-mode-unknown": ("print_modes", "{substrate}, {preference}, {layers}"),
    "mapping.print-mode-name-unknown": ("print mode names", "{said}"),
    "mapping.layers-unknown": ("layers", "{said}"),
}
"""Findings that a table has no row: the table, and the value that they tell of."""


@dataclass(slots=True)
class Unmapped:
    """One value without a row.

    Attributes:
        table: The table that it was looked up in.
        value: The value.
        orders: How many orders say it.
        example: Where it stands first.
        likely: What it may mean, the likeliest first.
    """

    table: str
    value: str
    orders: int = 0
    example: str = ""
    likely: tuple[str, ...] = ()


@dataclass(slots=True)
class Coverage:
    """A folder of past tickets under a mapping.

    Attributes:
        files: How many were read.
        orders: How many orders stand in them.
        mapped: How many of these a mapping makes an order of.
        unmapped: Values without a row, the most frequent first.
        others: Other reasons for refusing an order, by code, with how many orders they are true of.
    """

    files: int = 0
    orders: int = 0
    mapped: int = 0
    unmapped: list[Unmapped] = field(default_factory=list)
    others: dict[str, int] = field(default_factory=dict)


def coverage(found: Iterable[tuple[Trial, ...]], shop: Shop, mapping: Mapping) -> Coverage:
    """Count what is not mapped.

    Args:
        found: What the mapping makes of each file.
        shop: For the names of its substrates and print modes.
        mapping: The mapping.
    """
    counted = Coverage()
    values: dict[tuple[str, str], Unmapped] = {}
    for trials in found:
        counted.files += 1
        for one in trials:
            counted.orders += 1
            counted.mapped += one.order is not None
            _count(one, counted, values)
    for value in values.values():
        value.likely = tuple(_likely(value, shop, mapping))
    counted.unmapped = sorted(values.values(), key=lambda value: (-value.orders, value.table, value.value))
    return counted


def _count(one: Trial, counted: Coverage, values: dict[tuple[str, str], Unmapped]) -> None:
    told: set[object] = set()
    tableless = any(finding.code == "export.no-row" for finding in one.findings)
    for finding in one.findings:
        if tableless and finding.code in _SUBSTRATE_CODES:  # it only follows from the value without a row
            continue
        spot = _unmapped(finding)
        key: object = finding.code if spot is None else spot
        if key in told:  # an order counts once, however many items of it say so
            continue
        told.add(key)
        if spot is None:
            if one.order is None:
                counted.others[finding.code] = counted.others.get(finding.code, 0) + 1
            continue
        place = f"{one.file}{f':{finding.place.line}' if finding.place.line else ''}"
        value = values.setdefault(spot, Unmapped(*spot, example=place))
        value.orders += 1


def _unmapped(finding: Finding) -> tuple[str, str] | None:
    facts = {name: str(fact) for name, fact in finding.facts.items()}
    if finding.code == "export.no-row":
        return facts["table"], facts["found"]
    if finding.code in _SUBSTRATE_CODES:
        return "substrates", facts["said"]
    if finding.code in _VALUE_OF:
        table, form = _VALUE_OF[finding.code]
        return table, form.format_map(facts)
    return None


def _likely(value: Unmapped, shop: Shop, mapping: Mapping) -> Iterator[str]:
    """Targets by how alike their words are: of a table its rows, of the substrates the catalogue and the rows."""
    said = folded(value.value)
    scored: dict[str, float] = {}
    for words, target in _candidates(value.table, shop, mapping):
        likeness = SequenceMatcher(None, said, folded(words)).ratio()
        shared = set(said.replace('"', " ").split()) & set(folded(words).split())
        scored[target] = max(
            scored.get(target, 0.0), likeness, 0.9 * bool(shared) * len(shared) / len(words.split())
        )
    best = sorted(scored.items(), key=lambda one: -one[1])
    yield from (target for target, likeness in best[:MOST_NAMED] if likeness >= NEAR)


def _targets(table: str, shop: Shop, mapping: Mapping) -> Iterator[tuple[str, str]]:
    """What the fields that a table fills can be: closed words, or words that name a substrate."""
    fields = {row.field for row in (mapping.reads.fields if mapping.reads else ()) if row.table == table}
    for name in fields:
        yield from ((word, word) for word in WORDS_OF.get(name, ()))
        if name not in (TicketField.STOCK_BRAND, TicketField.STOCK_TYPE, TicketField.PRODUCT_ID):
            continue
        for row in mapping.substrates:
            brand, substrate = getattr(row, name.value), shop.substrates.get(row.substrate)
            if brand is not None and substrate is not None:
                called = (brand, substrate.name, substrate.id, substrate.family.value)
                yield from ((words, brand) for words in called)


def _candidates(table: str, shop: Shop, mapping: Mapping) -> Iterator[tuple[str, str]]:
    if table in mapping.tables:
        for row in mapping.tables[table].rows:
            yield row.says, row.means
            yield row.means, row.means
        yield from _targets(table, shop, mapping)
    elif table == "substrates":
        for substrate in shop.substrates.values():
            yield substrate.name, substrate.id
            yield substrate.id, substrate.id
            yield f'media "{substrate.family.value}"', substrate.id
        for kind in mapping.substrates:
            words = [
                text
                for text in (kind.product_id, kind.stock_brand, kind.stock_type, kind.media_type_details)
                if text
            ]
            yield from ((text, kind.substrate) for text in words)
    elif table == "print mode names":
        for mode in shop.print_modes.values():
            yield mode.name, mode.id
            yield mode.id, mode.id
