"""How the files of a source are read: where each value of an order stands, and how it is spelled there."""

from collections import Counter
from collections.abc import Iterable
from enum import StrEnum
from typing import Annotated, Final

from pydantic import Field, model_validator

from ticketbridge.model.spelling import DateFormat, DecimalSign, Encoding, Separator, Unit
from ticketbridge.model.substrate import FromOutside, Identifier
from ticketbridge.model.ticket_field import FORM_OF, NEEDED, OF_THE_ORDER, UNITS_OF, TicketField

Place = Annotated[
    str,
    Field(
        min_length=1,
        max_length=2000,
        examples=[
            "Width cm",
            "o:size/@width",
            "xpath31: string-join(o:edge, ' ')",
            "$.size.width",
            "/size/width",
        ],
    ),
]
"""Where something stands: an XPath, a JSONPath, a JSON Pointer, or a heading."""


class FileKind(StrEnum):
    """The kinds of files that a mapping can read."""

    JDF = "jdf"
    """By the standard; rows change or fill what the standard's own reading gives."""
    XML = "xml"
    JSON = "json"
    CSV = "csv"
    XLSX = "xlsx"

    @property
    def is_table(self) -> bool:
        """Whether it has headings and lines."""
        return self in (FileKind.CSV, FileKind.XLSX)


class Within(StrEnum):
    """What a place counts from."""

    FILE = "file"
    ORDER = "order"
    ITEM = "item"
    PART = "part"


class NoRow(StrEnum):
    """What becomes of a value that its table has no row for."""

    REFUSE = "refuse"
    KEEP = "keep"
    USE_DEFAULT = "use default"
    SKIP = "skip"
    """The row gives nothing, and the next one of the field is asked."""


class Condition(FromOutside):
    """Holds where a value of the file is one of some words."""

    at: Place
    """Where that value stands."""
    within: Within | None = None
    """What the place counts from; as for the row itself where it is left out."""
    says: tuple[str, ...] = Field(min_length=1, examples=[["Y", "yes"]])
    """Any of these; capitals do not matter."""


class FieldRow(FromOutside):
    """Where one value comes from. Of several rows for a field the first one that gives a value wins."""

    field: TicketField
    """The value that it fills."""
    at: Place | None = None
    """Where the value stands, counted from its order, item or part. In XML an XPath 1.0, or ``xpath31:`` and an
    XPath 3.1; in JSON a JSONPath that begins with $ or a JSON Pointer that begins with a stroke; in tables the
    heading, capitals and blanks around it do not matter. Left out, the default is the value; of JDF, what the
    standard's reading gives."""
    within: Within | None = None
    """What the place counts from: file, order, item or part. Left out, the order for values of the order, else the
    innermost there is."""
    split_at: Annotated[str, Field(min_length=1, max_length=20, examples=["x", "/"])] | None = None
    """The text is cut at this sign, and one piece of it is the value: ``x`` for 2000 x 1000."""
    piece: Annotated[int, Field(ge=1, le=20)] = 1
    """Which piece, from 1."""
    unit: Unit | None = None
    """Of a measure; the one in the field's name when it is left out."""
    decimal_sign: DecimalSign | None = None
    """Where this value differs from the rest of the file."""
    date_format: DateFormat | None = None
    """Where this value differs from the rest of the file."""
    table: Identifier | None = None
    """The name of a table, in ``tables``, that says what the value means."""
    no_row: NoRow = NoRow.REFUSE
    """What becomes of a value that the table has no row for."""
    default: (
        Annotated[str | int | float | bool, Field(examples=[5, "application/pdf", "2026-11-30"])] | None
    ) = None
    """The value where the file gives none, in the unit of the field's name, dates as YYYY-MM-DD."""
    required: bool = False
    """Refuse the order where no row gives the value."""
    only_when: Condition | None = None
    """Pass over the row unless this holds."""

    @model_validator(mode="after")
    def _fits_the_field(self) -> "FieldRow":
        units = UNITS_OF.get(FORM_OF[self.field], frozenset())
        if self.unit is not None and self.unit not in units:
            allowed = f"units for it are {', '.join(sorted(units))}" if units else "no unit goes with it"
            raise ValueError(f"{self.field} cannot be counted in {self.unit}: {allowed}")
        if self.no_row is NoRow.USE_DEFAULT and self.default is None:
            raise ValueError("no_row says use default, and there is no default")
        if self.no_row is not NoRow.REFUSE and self.table is None:
            raise ValueError("no_row goes with a table, and there is none")
        if self.piece != 1 and self.split_at is None:
            raise ValueError("piece goes with split_at, and there is none")
        return self

    @property
    def counted_from(self) -> Within:
        """What its place counts from, where it does not say: a part is the item where there are no parts."""
        if self.within is not None:
            return self.within
        return Within.ORDER if self.field in OF_THE_ORDER else Within.PART


_KEYS_OF: Final = {
    "namespaces": {FileKind.XML, FileKind.JDF},
    "orders": {FileKind.XML, FileKind.JSON},
    "items": {FileKind.XML, FileKind.JSON},
    "parts": {FileKind.XML, FileKind.JSON},
    "separator": {FileKind.CSV},
    "encoding": {FileKind.CSV},
    "sheet": {FileKind.XLSX},
    "heading_line": {FileKind.XLSX},
    "heading_lines": {FileKind.XLSX},
}
"""Keys that only some kinds of files need."""


class Reads(FromOutside):
    """How files are read. In tables, lines with the same job_id are items of one order."""

    kind: FileKind
    """The kind of files: jdf, xml, json, csv or xlsx."""
    namespaces: dict[Annotated[str, Field(pattern=r"^[A-Za-z_][A-Za-z0-9_.-]*$")], str] = Field(
        default={}, examples=[{"o": "urn:example:orders"}]
    )
    """Prefixes for XPaths, each with the name of its XML namespace."""
    orders: Place | None = None
    """Where the orders stand, counted from the file; left out, the file is one order."""
    items: Place | None = None
    """Where an order's items stand; left out, the order is its one item."""
    parts: Place | None = None
    """Where an item's parts stand, each an item of the order that is printed; left out, or where there is none, the
    item itself."""
    separator: Separator = Separator.COMMA
    """What stands between two cells."""
    encoding: Encoding = Encoding.UTF_8
    """How letters are written as bytes."""
    sheet: str | None = None
    """The name of the sheet; the first one when it is left out."""
    heading_line: Annotated[int, Field(ge=1, le=100)] = 1
    """The line in which the headings begin."""
    heading_lines: Annotated[int, Field(ge=1, le=5)] = 1
    """How many lines of headings there are. Of several, a column's heading is all of them from top to bottom with
    `` / `` between: ``Size / Width``."""
    decimal_sign: DecimalSign = DecimalSign.POINT
    """What stands before decimals. Signs between thousands are refused: they make two readings possible."""
    date_format: DateFormat = DateFormat.YEAR_FIRST
    """How dates are written, each perhaps with a time such as 17:30 after it, in the shop's time zone. A date
    alone means the end of that day."""
    fields: tuple[FieldRow, ...] = Field(min_length=1)
    """Where each value comes from; the first row of a field that gives a value wins. job_id, quantity,
    finished_width_mm, finished_height_mm and artwork_url must be among them, unless the files are JDF."""

    @model_validator(mode="after")
    def _keys_fit_the_kind(self) -> "Reads":
        for key in sorted(self.model_fields_set & _KEYS_OF.keys()):
            if self.kind not in _KEYS_OF[key]:
                kinds = " and ".join(sorted(_KEYS_OF[key]))
                raise ValueError(f"{key} is for {kinds} files, and these are {self.kind}")
        if self.parts is not None and self.items is None:
            raise ValueError("parts are parts of items, and items does not say where those stand")
        if self.kind is FileKind.CSV and self.separator.sign == self.decimal_sign.sign:
            raise ValueError("a comma cannot both separate cells and stand before decimals")
        return self

    @model_validator(mode="after")
    def _rows_agree(self) -> "Reads":
        fields = {row.field for row in self.fields}
        missing = [field.value for field in NEEDED if field not in fields]
        if missing and self.kind is not FileKind.JDF:
            raise ValueError(f"no row gives {', '.join(missing)}, and no order can be made without")
        twice = [field for field, count in Counter(self._taken_always()).items() if count > 1]
        if twice:
            raise ValueError(f"two rows always give {twice[0]}; the second one would never be asked")
        for row in self.fields:
            if row.at is None and row.default is None and self.kind is not FileKind.JDF:
                raise ValueError(f"the row for {row.field} has neither a place (at) nor a default")
        return self

    def _taken_always(self) -> Iterable[TicketField]:
        """Fields of rows that nothing can keep from giving a value."""
        return (row.field for row in self.fields if row.default is not None and row.only_when is None)
