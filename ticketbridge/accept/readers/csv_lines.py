"""CSV order lines to tickets: lines with the same order number are items of one ticket, in the file's order.

A line that cannot be used refuses its order, not its neighbours. Where it is not certain which order a line
belongs to, nothing of the file is taken: an order that lacks a line would be printed as if it were whole.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ticketbridge.accept.readers.csv_cells import CellUnreadable, value_of
from ticketbridge.accept.readers.csv_rows import CsvRefused, Row, rows_of
from ticketbridge.model.csv_table import OF_THE_ORDER, CsvColumn, CsvField, CsvTable, folded
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.shop import Limits
from ticketbridge.model.ticket import Read, Ticket, TicketItem, Value

VALUE_SHOWN = 80
"""Characters of a cell that are repeated in a finding."""


@dataclass(slots=True)
class OrderLines:
    """The lines of one order as far as they are read.

    Attributes:
        values: What the lines share.
        items: One for each line.
        findings: What was found wrong with the lines.
    """

    values: dict[str, Read] = field(default_factory=dict)
    items: list[TicketItem] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def read_csv(
    data: bytes, table: CsvTable, limits: Limits, time_zone: str, file: str
) -> list[tuple[Ticket | None, tuple[Finding, ...]]]:
    """Every order of a file, in the order of their first lines, with what was found wrong with it.

    Args:
        data: The file.
        table: How it is written, and which heading holds what.
        limits: What a single file may ask of the machine.
        time_zone: The shop's, for dates.
        file: Its name, for findings.

    Returns:
        Tickets with findings; no ticket where a line belongs to no order, or nothing of the file can be used.
    """
    try:
        rows = rows_of(data, table, limits, file)
        return _Reading(table, time_zone, file, rows[0]).orders(rows[1:])
    except CsvRefused as refusal:
        return [(None, (refusal.finding,))]


class _Reading:
    """One file being read; its headings are known."""

    def __init__(self, table: CsvTable, time_zone: str, file: str, headings: Row) -> None:
        self._table = table
        self._time_zone = time_zone
        self._file = file
        self._headings = headings
        self._folded = [folded(cell) for cell in headings.cells]
        self._where = dict(self._columns())
        self._order_column = next(c for c in table.columns if c.field is CsvField.JOB_ID)

    def orders(self, rows: Sequence[Row]) -> list[tuple[Ticket | None, tuple[Finding, ...]]]:
        orders: dict[str, OrderLines] = {}
        nameless: list[tuple[None, tuple[Finding, ...]]] = []
        for row in rows:
            if [folded(cell) for cell in row.cells] == self._folded:
                nameless.append((None, (Finding("csv.heading-again", Place(self._file, row.line)),)))
                continue
            fault = self._fault(row)
            name = self._cell(row, self._order_column)
            if name:
                lines = orders.setdefault(name, OrderLines())
                if fault is None:
                    self._read_line(row, lines)
                else:
                    lines.values.setdefault("job_id", self._read(name, name, row, self._order_column))
                    lines.findings.append(fault)
            else:
                nameless.append((None, (fault or self._nameless(row),)))
        where = {column.field.value: f'the column "{column.heading}"' for column in self._table.columns}
        made = [
            (Ticket(one.values, tuple(one.items), where=where), tuple(one.findings))
            for one in orders.values()
        ]
        return [*made, *nameless]

    def _columns(self) -> Iterator[tuple[CsvField, int]]:
        """Where each value stands.

        Raises:
            CsvRefused: A heading is missing, or there twice.
        """
        for column in self._table.columns:
            facts: dict[str, type_of_fact] = {"heading": column.heading}
            match self._folded.count(folded(column.heading)):
                case 0:
                    found = _shown(", ".join(cell.strip() for cell in self._headings.cells))
                    place = Place(self._file, self._headings.line)
                    raise CsvRefused(Finding("csv.heading-missing", place, {**facts, "found": found}))
                case 1:
                    yield column.field, self._folded.index(folded(column.heading))
                case _:
                    place = Place(self._file, self._headings.line)
                    raise CsvRefused(Finding("csv.heading-twice", place, facts))

    def _fault(self, row: Row) -> Finding | None:
        """What is wrong with the line as a whole.

        Raises:
            CsvRefused: It may belong to any order.
        """
        if len(row.cells) == len(self._headings.cells):
            return None
        facts = {"found": len(row.cells), "wanted": len(self._headings.cells)}
        if self._where[CsvField.JOB_ID] != 0:
            raise CsvRefused(Finding("csv.ragged-unnamed", Place(self._file, row.line), facts))
        return Finding("csv.ragged", Place(self._file, row.line), facts)

    def _nameless(self, row: Row) -> Finding:
        facts = {"heading": self._order_column.heading}
        return Finding("csv.no-order", Place(self._file, row.line), facts)

    def _read_line(self, row: Row, lines: OrderLines) -> None:
        item: dict[str, Read] = {}
        unreadable: list[Finding] = []
        for column in self._table.columns:
            text = self._cell(row, column)
            if not text:
                continue
            try:
                value = value_of(text, column, self._table, self._time_zone)
            except CellUnreadable as error:
                facts = {"heading": column.heading, "found": _shown(text), "allowed": error.allowed}
                found = lines.findings if column.field in OF_THE_ORDER else unreadable
                found.append(Finding("csv.value", self._place(row, column), facts))
                continue
            read = self._read(value, text, row, column)
            if column.field in OF_THE_ORDER:
                self._share(column, read, row, lines)
            else:
                item[column.field.value] = read
        made = TicketItem(item, row.line)
        part = made.part_id(len(lines.items))
        lines.findings += [finding.about_part(part) for finding in unreadable]
        lines.items.append(made)

    def _share(self, column: CsvColumn, read: Read, row: Row, lines: OrderLines) -> None:
        before = lines.values.setdefault(column.field.value, read)
        if before.value != read.value:
            facts: Mapping[str, type_of_fact] = {
                "heading": column.heading,
                "found": _shown(read.raw),
                "before": _shown(before.raw),
                "line": before.line,
            }
            lines.findings.append(Finding("csv.lines-disagree", self._place(row, column), facts))

    def _cell(self, row: Row, column: CsvColumn) -> str:
        place = self._where[column.field]
        return row.cells[place].strip() if place < len(row.cells) else ""

    def _read(self, value: Value, raw: str, row: Row, column: CsvColumn) -> Read:
        return Read(value, raw, column.heading, row.line)

    def _place(self, row: Row, column: CsvColumn) -> Place:
        return Place(self._file, row.line, path=column.heading)


def _shown(text: str) -> str:
    return text if len(text) <= VALUE_SHOWN else f"{text[:VALUE_SHOWN]}..."
