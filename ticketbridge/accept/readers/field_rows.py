"""One row of a mapping asked of one record: a value with its origin, nothing, or why there is none."""

from collections.abc import Collection, Iterator, Mapping, Sequence

from ticketbridge.accept.readers.records import Opened, Record
from ticketbridge.accept.readers.table_records import shown
from ticketbridge.extract.apart import doing
from ticketbridge.extract.found import Found
from ticketbridge.extract.spelled import Spelling, ValueUnreadable, plain_value, value_of
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.mapping import Mapping as ShopMapping
from ticketbridge.model.reads import FieldRow, FileKind, NoRow, Reads, Within
from ticketbridge.model.spelling import folded
from ticketbridge.model.ticket import Read
from ticketbridge.model.ticket_field import FORM_OF, Form


class ValueRefused(Exception):
    """A value stands there and cannot be used.

    Attributes:
        finding: Why.
        read: The text as it stands.
    """

    def __init__(self, finding: Finding, read: Read) -> None:
        super().__init__(finding, read)
        self.finding = finding
        self.read = read


class RowReading:
    """The rows of one mapping, asked of one file."""

    def __init__(self, opened: Opened, mapping: ShopMapping, reads: Reads, time_zone: str, file: str) -> None:
        self._opened = opened
        self._tables = mapping.tables
        self._reads = reads
        self._time_zone = time_zone
        self._file = file

    def read(
        self,
        number: int,
        row: FieldRow,
        contexts: Mapping[Within, Record],
        standard: Read | None = None,
    ) -> Read | None:
        """What a row gives.

        Args:
            number: Which row it is, from 1.
            row: The row.
            contexts: The records that places count from.
            standard: What the standard's own reading gives for the field, for rows without a place.

        Raises:
            ValueRefused: A value stands there and cannot be used.
        """
        doing(f"reads.fields row {number}, {row.field}: {row.at}")
        if row.only_when is not None and not self._holds(row, contexts):
            return None
        rule = f"reads.fields row {number}"
        if row.at is None and standard is not None:
            if row.table is None:
                return standard
            found = [Found(standard.raw, standard.path, standard.line)]
        else:
            found = self._pieces(row, contexts)
        if not found:
            return self._default(row, rule)
        if len(found) > 1 and FORM_OF[row.field] is not Form.LIST:
            raise self._refused("export.several", row, found[0], {"count": len(found)})
        if row.table is not None:
            return self._looked_up(row, rule, found)
        return self._value(row, rule, found)

    def missing(
        self,
        rows: Sequence[tuple[int, FieldRow]],
        given: Collection[str],
        contexts: Mapping[Within, Record],
    ) -> Iterator[Finding]:
        """A finding for each required field that no row gave."""
        fields = {row.field: row for _, row in reversed(rows) if row.required}
        for row in fields.values():
            if row.field.ticket_name not in given:
                record = contexts.get(row.counted_from) or contexts[Within.ORDER]
                place = Place(self._file, record.line, path=record.path or row.at)
                yield Finding("export.missing", place, {"field": row.field.value, "at": self._told(row)})

    def _holds(self, row: FieldRow, contexts: Mapping[Within, Record]) -> bool:
        condition = row.only_when
        assert condition is not None  # noqa: S101  the caller has looked
        record = self._record(condition.within or row.counted_from, contexts)
        said = {folded(one.raw) for one in self._opened.find(record, condition.at)}
        return any(folded(word) in said for word in condition.says)

    def _record(self, within: Within, contexts: Mapping[Within, Record]) -> Record:
        return contexts.get(within) or contexts[Within.ORDER]

    def _pieces(self, row: FieldRow, contexts: Mapping[Within, Record]) -> list[Found]:
        if row.at is None:
            return []
        found = self._opened.find(self._record(row.counted_from, contexts), row.at)
        if row.split_at is None:
            return found
        cut = [(one, one.raw.split(row.split_at)) for one in found]
        return [
            Found(piece, one.path, one.line)
            for one, pieces in cut
            if len(pieces) >= row.piece and (piece := pieces[row.piece - 1].strip())
        ]

    def _default(self, row: FieldRow, rule: str) -> Read | None:
        if row.default is None:
            return None
        text = str(row.default).lower() if isinstance(row.default, bool) else str(row.default)
        value = plain_value(row.field, text, self._time_zone)  # that it can be was proven on loading
        return Read(value, text, "", None, f"{rule}, its default", decided=True)

    def _looked_up(self, row: FieldRow, rule: str, found: Sequence[Found]) -> Read | None:
        table = self._tables[row.table or ""]
        meant: list[str] = []
        entries: list[str] = []
        for one in found:
            hit = table.row_for(one.raw)
            if hit is None:
                if row.no_row is NoRow.REFUSE:
                    raise self._refused(
                        "export.no-row", row, one, {"table": row.table, "file": table.file or "the mapping"}
                    )
                if row.no_row is NoRow.KEEP:
                    return self._value(row, rule, found)
                return self._default(row, rule) if row.no_row is NoRow.USE_DEFAULT else None
            number, line = hit
            meant.append(line.means)
            entries.append(
                f'{table.file}, "{line.says}"' if table.file else f"tables.{row.table} row {number}"
            )
        value = plain_value(row.field, "; ".join(meant), self._time_zone)  # proven on loading, too
        raw = "; ".join(one.raw for one in found)
        return Read(value, raw, found[0].path, found[0].line, f"{rule} by {', '.join(entries)}", decided=True)

    def _value(self, row: FieldRow, rule: str, found: Sequence[Found]) -> Read:
        spelling = Spelling(
            self._time_zone,
            row.unit,
            row.decimal_sign or self._reads.decimal_sign,
            row.date_format or self._reads.date_format,
        )
        try:
            value = value_of(row.field, found, spelling)
        except ValueUnreadable as error:
            code = "csv.value" if self._reads.kind is FileKind.CSV else "export.value"
            raise self._refused(code, row, found[0], {"allowed": error.allowed}) from error
        raw = "; ".join(one.raw for one in found)
        return Read(value, raw, found[0].path, found[0].line, rule)

    def _told(self, row: FieldRow) -> str:
        return self._opened.in_words(row.at) if row.at else f"a row of reads.fields for {row.field}"

    def _refused(
        self, code: str, row: FieldRow, one: Found, facts: Mapping[str, type_of_fact]
    ) -> ValueRefused:
        said: dict[str, type_of_fact] = {
            "heading": one.path if code == "csv.value" else row.at,
            "field": row.field.value,
            "found": shown(one.raw),
        }
        finding = Finding(code, Place(self._file, one.line, path=one.path), said | dict(facts))
        return ValueRefused(finding, Read(one.raw, one.raw, one.path, one.line))
