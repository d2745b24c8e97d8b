"""How many fields of a real mapping a drafted one has right: over every order and item of the samples."""

import shutil
from collections.abc import Sequence
from pathlib import Path

from ticketbridge.accept.readers.choose import read_orders
from ticketbridge.config.load import load_shop
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.shop import Shop
from ticketbridge.model.ticket import Read, Ticket
from ticketbridge.model.ticket_field import OF_THE_ORDER, TicketField
from ticketbridge.prove.draft.draft import draft

MEANT_IF_UNSAID = {TicketField.MAY_ROTATE: True}
"""What a ticket means that does not say."""


def drafted(folder: Path, place: Path, files: Sequence[Path]) -> tuple[str, Shop]:
    """A draft from samples, and a copy of the shop in ``folder``, at ``place``, that has it as the mapping ``drafted``."""
    shutil.copytree(folder, place)
    text = draft([(file.name, file.read_bytes()) for file in files], load_shop(place).shop)
    (place / "mappings" / "drafted.yaml").write_text(text, encoding="utf-8")
    return text, load_shop(place).shop


def graded(shop: Shop, real: str, files: Sequence[Path]) -> dict[TicketField, bool]:
    """For each field that the real mapping has rows for, whether the draft has it right.

    Right is the same value everywhere. Where a table stands between, whose words nobody can guess, right is the same
    text from the same place everywhere.
    """
    mappings = shop.mappings[real], shop.mappings["drafted"]
    reads = mappings[0].reads
    fields = list(dict.fromkeys(row.field for row in reads.fields)) if reads else []
    (real_tickets, _), (made, wordless) = (_tickets(shop, mapping, files) for mapping in mappings)
    return {field: _same(field, real_tickets, made, mappings, wordless) for field in fields}


def _tickets(
    shop: Shop, mapping: Mapping, files: Sequence[Path]
) -> tuple[list[Ticket], set[tuple[str, str]]]:
    """Every order, and every text with its place that a table has no row for."""
    limits, zone = shop.settings.limits, shop.settings.time_zone
    read = [one for file in files for one in read_orders(file.read_bytes(), file.name, mapping, limits, zone)]
    wordless = {
        (str(finding.facts["found"]), str(finding.place.path))
        for _, findings in read
        for finding in findings
        if finding.code == "export.no-row"
    }
    return [ticket for ticket, _ in read if ticket is not None], wordless


def _same(
    field: TicketField,
    real: list[Ticket],
    made: list[Ticket],
    mappings: tuple[Mapping, Mapping],
    wordless: set[tuple[str, str]],
) -> bool:
    ours, theirs = _values(field, real), _values(field, made)
    by_table = any(
        row.table is not None
        for mapping in mappings
        for row in (mapping.reads.fields if mapping.reads else ())
        if row.field is field
    )
    return len(ours) == len(theirs) and all(
        _alike(field, one, other, wordless, by_table=by_table)
        for one, other in zip(ours, theirs, strict=True)
    )


def _values(field: TicketField, tickets: list[Ticket]) -> list[Read | None]:
    if field in OF_THE_ORDER:
        return [ticket.values.get(field.ticket_name) for ticket in tickets]
    return [item.values.get(field.ticket_name) for ticket in tickets for item in ticket.items]


def _alike(
    field: TicketField,
    one: Read | None,
    other: Read | None,
    wordless: set[tuple[str, str]],
    *,
    by_table: bool,
) -> bool:
    unsaid = MEANT_IF_UNSAID.get(field)
    values = [unsaid if read is None else read.value for read in (one, other)]
    if values[0] == values[1]:
        return True
    if not by_table or one is None:
        return False
    found = (one.raw, one.path)
    return found in wordless if other is None else found == (other.raw, other.path)
