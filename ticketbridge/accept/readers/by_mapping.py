"""Files to tickets by the rows of a mapping: what is read at which place, in which spelling, by which table.

Order records with the same order number are one ticket, in the file's order, so that a file may be a list of
orders or a list of lines. A value that cannot be used refuses its order, not the others of the file.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ticketbridge.accept.readers.field_rows import RowReading, ValueRefused
from ticketbridge.accept.readers.json_records import JsonRecords
from ticketbridge.accept.readers.records import Opened, Record
from ticketbridge.accept.readers.table_records import TableRecords, shown
from ticketbridge.accept.readers.xml_records import XmlRecords
from ticketbridge.extract.csv_rows import rows_of
from ticketbridge.extract.rows import FileRefused
from ticketbridge.extract.xlsx_rows import xlsx_rows_of
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.mapping import Mapping as ShopMapping
from ticketbridge.model.reads import FieldRow, FileKind, Reads, Within
from ticketbridge.model.shop import Limits
from ticketbridge.model.ticket import Read, Ticket, TicketItem
from ticketbridge.model.ticket_field import OF_THE_ORDER, TicketField

Tickets = list[tuple[Ticket | None, tuple[Finding, ...]]]
"""Every order of a file with what was found wrong with it; no ticket where nothing says which order it is."""


@dataclass(slots=True)
class OrderRead:
    """One order as far as it is read.

    Attributes:
        values: What its items share.
        items: Its items.
        findings: What was found wrong.
    """

    values: dict[str, Read] = field(default_factory=dict)
    items: list[TicketItem] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def read_by_mapping(data: bytes, mapping: ShopMapping, limits: Limits, time_zone: str, file: str) -> Tickets:
    """Every order of a file, in the order of their first lines.

    Args:
        data: The file.
        mapping: It has a block ``reads``, of a kind other than JDF.
        limits: What a single file may ask of the machine.
        time_zone: The shop's, for dates.
        file: Its name, for findings.
    """
    assert mapping.reads is not None  # noqa: S101  the caller has looked
    try:
        opened = _opened(data, mapping.reads, limits, file)
        return _Reading(opened, mapping, mapping.reads, time_zone, file).orders()
    except FileRefused as refusal:
        return [(None, (refusal.finding,))]
    except XmlRefused as refusal:
        return [(None, refusal.findings)]


def _opened(data: bytes, reads: Reads, limits: Limits, file: str) -> Opened:
    match reads.kind:
        case FileKind.CSV:
            return TableRecords(rows_of(data, reads.separator, reads.encoding, limits, file), reads, file)
        case FileKind.XLSX:
            rows = xlsx_rows_of(
                data,
                limits,
                file,
                sheet=reads.sheet,
                heading_line=reads.heading_line,
                heading_lines=reads.heading_lines,
            )
            return TableRecords(rows, reads, file)
        case FileKind.JSON:
            return JsonRecords(data, reads, limits, file)
        case FileKind.XML | FileKind.JDF:
            return XmlRecords(parse(data, limits, file), reads, file)


class _Reading:
    """One file being read."""

    def __init__(self, opened: Opened, mapping: ShopMapping, reads: Reads, time_zone: str, file: str) -> None:
        self._opened = opened
        self._reads = reads
        self._file = file
        self._rows = RowReading(opened, mapping, reads, time_zone, file)
        numbered = list(enumerate(reads.fields, start=1))
        self._of_order = [(n, row) for n, row in numbered if row.field in OF_THE_ORDER]
        self._of_item = [(n, row) for n, row in numbered if row.field not in OF_THE_ORDER]
        self._names = [(n, row) for n, row in numbered if row.field is TicketField.JOB_ID]

    def orders(self) -> Tickets:
        orders: dict[str, OrderRead] = {}
        nameless: Tickets = []
        records = self._opened.orders()
        if not records:
            facts = {"at": self._reads.orders or ""}
            raise FileRefused(Finding("export.no-orders", Place(self._file), facts))
        for record in records:
            name = None if record.nameless else self._name(record)
            if name is None:
                nameless.append((None, (record.fault or self._nameless(record),)))
                continue
            order = orders.setdefault(name.raw, OrderRead())
            if record.fault is None:
                self._read(record, order)
            else:
                order.values.setdefault("job_id", name)
                order.findings.append(record.fault)
        where = _Where(self._opened, self._reads)
        made: Tickets = [
            (Ticket(one.values, tuple(one.items), where=where), tuple(one.findings))
            for one in orders.values()
        ]
        return [*made, *nameless]

    def _name(self, record: Record) -> Read | None:
        """What the record's order is called, as far as that can be told of a record with a fault."""
        contexts = {Within.FILE: self._opened.root, Within.ORDER: record}
        for number, row in self._names:
            try:
                read = self._rows.read(number, row, contexts)
            except ValueRefused as refused:
                read = refused.read
            if read is not None:
                return read
        return None

    def _nameless(self, record: Record) -> Finding:
        place = Place(self._file, record.line, path=None if record.handle is None else record.path or None)
        at = self._names[0][1].at
        return Finding(self._code("no-order"), place, {"heading": at} if self._is_csv else {"at": at})

    def _read(self, record: Record, order: OrderRead) -> None:
        contexts = {Within.FILE: self._opened.root, Within.ORDER: record}
        values, findings = self._values(self._of_order, contexts)
        order.findings += findings
        for name, read in values.items():
            self._share(name, read, order)
        for item, part in self._leaves(record):
            around = {**contexts, Within.ITEM: item, Within.PART: part}
            values, findings = self._values(self._of_item, around)
            made = TicketItem(values, part.line)
            part_id = made.part_id(len(order.items))
            order.findings += [finding.about_part(part_id) for finding in findings]
            order.items.append(made)

    def _leaves(self, order: Record) -> Iterator[tuple[Record, Record]]:
        """Every item with each of its parts; an item without parts is its own."""
        items = [order] if self._reads.items is None else self._opened.below(order, self._reads.items)
        for item in items:
            parts = [] if self._reads.parts is None else self._opened.below(item, self._reads.parts)
            for part in parts or [item]:
                yield item, part

    def _values(
        self, rows: Sequence[tuple[int, FieldRow]], contexts: Mapping[Within, Record]
    ) -> tuple[dict[str, Read], list[Finding]]:
        values: dict[str, Read] = {}
        findings: list[Finding] = []
        refused: set[str] = set()
        for number, row in rows:
            name = row.field.ticket_name
            if name in values or name in refused:
                continue
            try:
                read = self._rows.read(number, row, contexts)
            except ValueRefused as error:
                findings.append(error.finding)
                refused.add(name)
                continue
            if read is not None:
                values[name] = read
        findings += self._rows.missing(rows, values.keys() | refused, contexts)
        return values, findings

    def _share(self, name: str, read: Read, order: OrderRead) -> None:
        before = order.values.setdefault(name, read)
        if before.value != read.value:
            facts: dict[str, type_of_fact] = {
                "heading": read.path,
                "found": shown(read.raw),
                "before": shown(before.raw),
                "line": before.line if self._is_csv else (before.line or before.path),
            }
            place = Place(self._file, read.line, path=read.path)
            order.findings.append(Finding(self._code("lines-disagree"), place, facts))

    @property
    def _is_csv(self) -> bool:
        return self._reads.kind is FileKind.CSV

    def _code(self, name: str) -> str:
        """CSV files had their codes before other kinds were read by mappings, and codes stay."""
        return f"csv.{name}" if self._is_csv else f"export.{name}"


class _Where(dict[str, str]):
    """Where files of this kind have each value, to tell people what is missing."""

    def __init__(self, opened: Opened, reads: Reads) -> None:
        super().__init__(
            {row.field.ticket_name: opened.in_words(row.at) for row in reversed(reads.fields) if row.at}
        )

    def __missing__(self, name: str) -> str:
        return f"a row of reads.fields for {name}"
