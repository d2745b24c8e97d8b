"""A sheet of an XLSX workbook as rows of cells. Nothing in it is calculated or followed.

A workbook is a ZIP of XML files from a stranger: sizes and numbers are bounded before anything is unpacked, and
what only an attack needs is refused. A formula counts as what the spreadsheet program last saw in it.
"""

import codecs
import io
import re
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Final

from lxml import etree

from ticketbridge.extract.rows import FileRefused, Row, Typed
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.shop import Limits

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

MOST_MEMBERS: Final = 500
UNPACKED_BYTES: Final = 64 * 1024 * 1024
"""Of all files in the workbook together; the ZIP directory's sizes bound what is read of each."""
MOST_ELEMENTS: Final = 1_000_000
"""In one XML file inside it; a cell with a value is two or three."""
MOST_COLUMNS: Final = 256
MOST_CELLS: Final = 500_000
"""From the first line to the last, blank ones among them, since each is made when it is looked at. Also those of
merged cells and of links, which the library spreads over every cell that they name."""
SPREAD: Final = ("{*}mergeCell", "{*}hyperlink")
_DECLARED: Final = re.compile(rb"<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([^\"']*)")
HEADING_JOINT: Final = " / "
UNREADABLE: Final = (
    zipfile.BadZipFile, zlib.error, etree.XMLSyntaxError, NotImplementedError, RuntimeError, OSError, EOFError,
    ValueError,
)  # fmt: skip
"""What reading a damaged ZIP, or XML in it, raises."""


def xlsx_rows_of(
    data: bytes, limits: Limits, file: str, *, sheet: str | None, heading_line: int, heading_lines: int
) -> list[Row]:
    """The rows that are not blank, the headings first as one row.

    Args:
        data: The workbook.
        limits: What a single file may ask of the machine.
        file: Its name, for findings.
        sheet: The sheet's name; the first one where it is None.
        heading_line: The line, from 1, in which the headings begin.
        heading_lines: How many lines of headings there are.

    Raises:
        FileRefused: It is no workbook, is too large, or has no such sheet.
    """
    _refuse_too_large_or_hostile(data, limits, file)
    found = _sheet(data, file, sheet)
    if (found.max_column or 0) > MOST_COLUMNS:
        raise _refused("xlsx.too-large", file, limit=MOST_COLUMNS, what="columns")
    if (found.max_column or 0) * (found.max_row or 0) > MOST_CELLS:
        raise _refused("xlsx.too-large", file, limit=MOST_CELLS, what="cells, blank ones among them")
    first = heading_line + heading_lines
    rows = [_headings(found, heading_line, first - 1)]
    for line, cells in enumerate(found.iter_rows(min_row=first), start=first):
        values = [cell.value for cell in cells]
        if any(value is not None for value in values):
            row = _row(found.title, line, values)
            if not row.blank:
                rows.append(row)
        if len(rows) > limits.lines_per_file + 1:
            raise _refused("xlsx.too-large", file, limit=limits.lines_per_file, what="lines")
    if len(rows) < 2:
        raise _refused("xlsx.empty", file, sheet=found.title, line=first)
    return rows


def sheet_names(data: bytes, limits: Limits, file: str) -> list[str]:
    """The names of the sheets, in their order.

    Raises:
        FileRefused: It is no workbook, or too large.
    """
    _refuse_too_large_or_hostile(data, limits, file)
    return list(_sheets(data, file))


def _refuse_too_large_or_hostile(data: bytes, limits: Limits, file: str) -> None:
    if len(data) > limits.ticket_bytes:
        raise _refused("xlsx.too-large", file, limit=limits.ticket_bytes, what="bytes")
    _refuse_hostile(data, file)


def _refuse_hostile(data: bytes, file: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            members = packed.infolist()
            if len(members) > MOST_MEMBERS:
                raise _refused("xlsx.too-large", file, limit=MOST_MEMBERS, what="files inside it")
            if sum(member.file_size for member in members) > UNPACKED_BYTES:
                raise _refused("xlsx.too-large", file, limit=UNPACKED_BYTES, what="bytes when it is unpacked")
            names = [member.filename for member in members]
            if len(set(names)) < len(names):
                raise _refused("xlsx.damaged", file, reason="it has one file twice")
            for name in names:
                content = packed.read(name)
                if name.endswith((".xml", ".rels")) or content.lstrip().startswith(b"<"):
                    _refuse_xml(content, file)
    except UNREADABLE as error:
        raise _refused("xlsx.damaged", file, reason=_short(error)) from error


def _refuse_xml(content: bytes, file: str) -> None:
    """Spreadsheet programs write UTF-8 without a DOCTYPE; anything else would only hide what it declares.

    What it asks the library to build is counted before the library builds it.
    """
    declared = _DECLARED.match(content.removeprefix(codecs.BOM_UTF8))
    other = declared is not None and declared[1].lower() not in (b"utf-8", b"us-ascii")
    if other or content.startswith((b"\xff\xfe", b"\xfe\xff", b"\0", b"<\0", b"\x4c\x6f\xa7\x94")):
        raise _refused("xlsx.damaged", file, reason="its XML is not UTF-8")
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise _refused("xlsx.damaged", file, reason="its XML has a DOCTYPE")
    if content.count(b"<") - content.count(b"</") > MOST_ELEMENTS:
        raise _refused("xlsx.too-large", file, limit=MOST_ELEMENTS, what="XML elements")
    if b"mergeCell" in content or b"hyperlink" in content:
        _refuse_spread(content, file)


def _refuse_spread(content: bytes, file: str) -> None:
    from openpyxl.utils import range_boundaries

    cells = 0
    for _, element in etree.iterparse(io.BytesIO(content), tag=SPREAD, resolve_entities=False):
        left, top, right, bottom = range_boundaries(element.get("ref") or "A1")
        if None in (left, top, right, bottom):  # whole lines or columns
            cells = MOST_CELLS
        cells += ((right or 0) - (left or 0) + 1) * ((bottom or 0) - (top or 0) + 1)
        if cells > MOST_CELLS:
            raise _refused("xlsx.too-large", file, limit=MOST_CELLS, what="merged or linked cells")


def _sheets(data: bytes, file: str) -> dict[str, "Worksheet"]:
    import warnings

    import openpyxl
    from openpyxl.worksheet.worksheet import Worksheet

    try:
        with warnings.catch_warnings():  # about styles and extensions, which say nothing about values
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True, keep_links=False)
    except Exception as error:  # the library raises whatever its parts raise on a damaged book
        raise _refused("xlsx.damaged", file, reason=_short(error)) from error
    return {sheet.title: sheet for sheet in book.worksheets if isinstance(sheet, Worksheet)}


def _sheet(data: bytes, file: str, name: str | None) -> "Worksheet":
    sheets = _sheets(data, file)
    wanted = next(iter(sheets), "") if name is None else name
    if wanted not in sheets:
        raise _refused("xlsx.sheet-missing", file, sheet=wanted, found=", ".join(sheets) or "none")
    return sheets[wanted]


def _headings(sheet: "Worksheet", first: int, last: int) -> Row:
    """One heading for each column: a merged cell counts in every column, and once where lines repeat it."""
    inside = {
        (line, column): (area.min_row, area.min_col)
        for area in sheet.merged_cells.ranges
        if area.min_row <= last and area.max_col <= MOST_COLUMNS
        for line in range(area.min_row, min(area.max_row, last) + 1)
        for column in range(area.min_col, area.max_col + 1)
    }
    headings = []
    for column in range(1, (sheet.max_column or 1) + 1):
        spots = dict.fromkeys(inside.get((line, column), (line, column)) for line in range(first, last + 1))
        texts = [_text(sheet.cell(*spot).value) for spot in spots]
        headings.append(HEADING_JOINT.join(" ".join(text.split()) for text in texts if text.strip()))
    return Row(first, tuple(headings), names=tuple(_names(sheet.title, first, len(headings))))


def _row(title: str, line: int, values: Sequence[object]) -> Row:
    typed = tuple(_typed(value) for value in values)
    return Row(line, tuple(_text(value) for value in values), typed, tuple(_names(title, line, len(values))))


def _names(title: str, line: int, columns: int) -> Iterator[str]:
    from openpyxl.utils import get_column_letter

    return (f"{title}!{get_column_letter(column)}{line}" for column in range(1, columns + 1))


def _typed(value: object) -> Typed | None:
    if isinstance(value, bool | int | float | datetime):
        return value
    return datetime.combine(value, time()) if isinstance(value, date) else None


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))  # spreadsheets know no whole numbers; an order number has no decimals
    return str(value)


def _short(error: Exception) -> str:
    return (" ".join(str(error).split()) or type(error).__name__)[:160]


def _refused(code: str, file: str, **facts: type_of_fact) -> FileRefused:
    return FileRefused(Finding(code, Place(file), facts))
