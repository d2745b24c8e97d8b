"""What a mapping makes of a file: every order with the origin of every value, without artwork and lanes."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.readers.choose import KIND_OF_FILE, is_standard, read_orders
from ticketbridge.decide.map_order import Mapped, map_order
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.model.mapping import Mapping as ShopMapping
from ticketbridge.model.order import Order
from ticketbridge.model.reads import FileKind
from ticketbridge.model.shop import Shop
from ticketbridge.model.ticket import Ticket
from ticketbridge.spool import durable

READ_KINDS: Final = frozenset({Kind.TICKET, Kind.ORDER_LINES, Kind.SHEET, Kind.JSON})
"""Kinds of files that orders are read from."""
CASES: Final = ".cases"
"""Ending of the folder, beside a mapping, that holds its cases."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One order of a file.

    Attributes:
        file: The file's name.
        ticket: What the file says; None where it could not be read as an order at all.
        mapped: What it means; None without a ticket.
        findings: Everything found on the way.
    """

    file: str
    ticket: Ticket | None
    mapped: Mapped | None
    findings: tuple[Finding, ...]

    @property
    def order(self) -> Order | None:
        """The order; None where it would be refused."""
        return None if self.mapped is None or refuses(self.findings) else self.mapped.order

    @property
    def job_id(self) -> str | None:
        """The order's number, as far as it could be read."""
        said = self.ticket.values.get("job_id") if self.ticket else None
        return said.raw if said else None


def trials(file: str, data: bytes, shop: Shop, mapping_id: str) -> tuple[Trial, ...]:
    """Every order of a file as a mapping of the shop means it.

    Args:
        file: The file's name, which says of what kind it is.
        data: Its content.
        shop: The shop; its catalogue is what orders must fit.
        mapping_id: One of its mappings.
    """
    mapping = shop.mappings[mapping_id]
    read = read_orders(data, file, mapping, shop.settings.limits, shop.settings.time_zone)
    return tuple(trial(file, ticket, found, shop, mapping, mapping_id) for ticket, found in read)


def trial(
    file: str,
    ticket: Ticket | None,
    found: tuple[Finding, ...],
    shop: Shop,
    mapping: ShopMapping,
    source_id: str,
) -> Trial:
    """One ticket as a mapping means it."""
    if ticket is None or (not ticket.items and refuses(found)):
        return Trial(file, ticket, None, found)
    mapped = map_order(ticket, mapping, shop, source_id)
    return Trial(file, ticket, mapped, found + mapped.findings)


def rows_of(one: Trial) -> Iterator[tuple[str, str, str]]:
    """Every value of the order, in its own words, with where it comes from: field, value, origin."""
    if one.mapped is None or one.mapped.order is None:
        return
    order = one.mapped.order
    plain = order.model_dump(mode="json")
    for item, values in zip(order.items, plain["items"], strict=True):
        for block in ("artwork", "finishing", "pattern"):  # what is usual in them says nothing
            if (made := getattr(item, block)) is not None:
                values[block] = made.model_dump(mode="json", exclude_defaults=True)
    for path, origin in one.mapped.origins.items():
        yield path, shown(value_at(plain, path)), str(origin)


def value_at(plain: Any, path: str) -> Any:
    """The value at a path such as ``items[0].substrate``."""
    for step in path.replace("]", "").replace("[", ".").split("."):
        if isinstance(plain, list):
            plain = plain[int(step)]
        elif isinstance(plain, Mapping):
            plain = plain.get(step)
        else:
            return None
    return plain


def shown(value: Any) -> str:
    """A value on one line: blocks as ``name value``, nothing for what is not there."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:.10g}"
        case dict():
            return ", ".join(
                f"{name} {shown(inner)}"
                for name, inner in value.items()
                if inner not in (None, "", [], False)
            )
        case list():
            return " ".join(shown(inner) for inner in value)
    return str(value)


def order_files(folder: Path) -> list[Path]:
    """The files below a folder that orders can be read from, sorted; expectations and notes are none."""
    return sorted(
        path
        for path in folder.rglob("*")
        if path.is_file() and kind_of(_own_name(path)) in READ_KINDS and not path.name.startswith(".")
    )


def _own_name(path: Path) -> str:
    """The name without what a claim puts before it."""
    return path.name.rpartition("~")[2] or path.name


def content(path: Path, shop: Shop) -> bytes:
    """A file's content, as much of it as a ticket may have.

    Raises:
        OSError: It cannot be read.
    """
    return durable.read(path.resolve(), shop.settings.limits.ticket_bytes)


def mapping_for(shop: Shop, file: Path) -> str | None:
    """The mapping whose case a file is, else that of the first source that takes such files, else one that reads them.

    Raises:
        OSError: The file cannot be read.
    """
    case_of = file.absolute().parent.name.removesuffix(CASES)
    if file.absolute().parent.name.endswith(CASES) and case_of in shop.mappings:
        return case_of
    name = _own_name(file)
    wanted: tuple[FileKind | None, ...] = (None, FileKind.JDF)
    if kind_of(name) in KIND_OF_FILE:
        wanted = (KIND_OF_FILE[kind_of(name)],)
    elif not is_standard(content(file, shop), shop.settings.limits, name):
        wanted = (FileKind.XML,)
    ids = [source.mapping for source in shop.settings.sources] + sorted(shop.mappings)
    return next((name for name in ids if _kind_read(shop.mappings[name]) in wanted), None)


def _kind_read(mapping: ShopMapping) -> FileKind | None:
    return mapping.reads.kind if mapping.reads else None
