"""Lines of a table: each is an order's line, places are headings.

A line that cannot be used refuses its order, not its neighbours. Where it is not certain which order a line
belongs to, nothing of the file is taken: an order that lacks a line would be printed as if it were whole.
"""

from collections.abc import Iterable, Sequence

from ticketbridge.accept.readers.records import Record
from ticketbridge.extract.found import Found
from ticketbridge.extract.rows import FileRefused, Row
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.reads import FileKind, Reads
from ticketbridge.model.spelling import folded
from ticketbridge.model.ticket_field import TicketField

TEXT_SHOWN = 80
"""Characters of a text from outside that are repeated in a finding."""


class TableRecords:
    """One table.

    Raises:
        FileRefused: A heading that a row of the mapping names is missing, or there twice.
    """

    def __init__(self, rows: Sequence[Row], reads: Reads, file: str) -> None:
        self._headings, *self._rows = rows
        self._folded = [folded(cell) for cell in self._headings.cells]
        self._reads = reads
        self._file = file
        self._where = {folded(heading): self._column(heading) for heading in _headings_asked(reads)}
        self.root = Record(None, "", None)

    def orders(self) -> list[Record]:
        """Every line, with what is wrong with it."""
        return [self._record(row) for row in self._rows]

    def below(self, record: Record, _at: str) -> list[Record]:
        """Lines have nothing below them."""
        return [record]

    def find(self, record: Record, at: str) -> list[Found]:
        """The cell below a heading, where it is not empty."""
        row: Row = record.handle
        column = self._where[folded(at)]
        text = row.cells[column].strip() if column < len(row.cells) else ""
        if not text:
            return []
        typed = row.typed[column] if row.typed else None
        return [Found(text, row.names[column] if row.names else at.strip(), row.line, typed)]

    def in_words(self, at: str) -> str:
        """The column."""
        return f'the column "{at}"'

    def _record(self, row: Row) -> Record:
        if [folded(cell) for cell in row.cells] == self._folded:
            again = Finding("csv.heading-again", Place(self._file, row.line))
            return Record(row, "", row.line, again, nameless=True)
        return Record(row, "", row.line, self._ragged(row))

    def _ragged(self, row: Row) -> Finding | None:
        """What is wrong with the line as a whole.

        Raises:
            FileRefused: It may belong to any order.
        """
        if len(row.cells) == len(self._headings.cells):
            return None
        facts = {"found": len(row.cells), "wanted": len(self._headings.cells)}
        place = Place(self._file, row.line)
        names = [
            row.at for row in self._reads.fields if row.field is TicketField.JOB_ID and row.at is not None
        ]
        if any(self._where[folded(name)] != 0 for name in names):
            raise FileRefused(Finding("csv.ragged-unnamed", place, facts))
        return Finding("csv.ragged", place, facts)

    def _column(self, heading: str) -> int:
        facts: dict[str, type_of_fact] = {"heading": heading}
        place = Place(self._file, self._headings.line)
        match self._folded.count(folded(heading)):
            case 0:
                found = shown(", ".join(cell.strip() for cell in self._headings.cells if cell.strip()))
                raise FileRefused(Finding(self._code("heading-missing"), place, {**facts, "found": found}))
            case 1:
                return self._folded.index(folded(heading))
            case _:
                raise FileRefused(Finding(self._code("heading-twice"), place, facts))

    def _code(self, name: str) -> str:
        return f"csv.{name}" if self._reads.kind is FileKind.CSV else f"xlsx.{name}"


def shown(text: str) -> str:
    """A text from outside, cut for a finding."""
    return text if len(text) <= TEXT_SHOWN else f"{text[:TEXT_SHOWN]}..."


def _headings_asked(reads: Reads) -> Iterable[str]:
    for row in reads.fields:
        if row.at is not None:
            yield row.at
        if row.only_when is not None:
            yield row.only_when.at
