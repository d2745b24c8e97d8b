"""From bytes to rows of cells, strictly: what does not come apart in one way only is refused."""

import codecs
import csv
import io
import re
from collections.abc import Iterator
from typing import Final

from ticketbridge.extract.rows import FileRefused, Row
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.shop import Limits
from ticketbridge.model.spelling import Encoding, Separator

MOST_COLUMNS: Final = 256
"""No order has so many values; a longer line is no order line."""

_CODECS: Final = {
    Encoding.UTF_8: "utf-8-sig",
    Encoding.UTF_8_SIG: "utf-8-sig",
    Encoding.WINDOWS_1252: "cp1252",
}
_FOREIGN_MARKS: Final = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)
"""Byte order marks of what is never read; the longer ones first, because UTF-32's begins like UTF-16's."""
_SEPARATOR_LINE: Final = re.compile(r"\ufeff?sep=(.?)\r?\n?", re.IGNORECASE)
"""A first line that spreadsheet programs write to tell each other the separator."""


def rows_of(data: bytes, separator: Separator, encoding: Encoding, limits: Limits, file: str) -> list[Row]:
    """The rows that are not blank, the headings first.

    Args:
        data: The file.
        separator: What stands between two cells.
        encoding: How letters are written as bytes.
        limits: What a single file may ask of the machine.
        file: Its name, for findings.

    Raises:
        FileRefused: Too large, another encoding or separator, quotes that do not fit (RFC 4180, section 2).
    """
    if len(data) > limits.ticket_bytes:
        raise _too_large(file, None, limits.ticket_bytes, "bytes")
    lines = io.StringIO(_text(data, encoding, file), newline="").readlines()
    start = _after_separator_line(lines, separator, file)
    rows: list[Row] = []
    for row in _parsed(lines[start:], start, separator.sign, file):
        if len(row.cells) > MOST_COLUMNS:
            raise _too_large(file, row.line, MOST_COLUMNS, "columns")
        if not row.blank:
            rows.append(row)
        if len(rows) > limits.lines_per_file + 1:
            raise _too_large(file, row.line, limits.lines_per_file, "lines")
    if len(rows) < 2:
        raise FileRefused(Finding("csv.empty", Place(file)))
    return rows


def _text(data: bytes, encoding: Encoding, file: str) -> str:
    for mark, name in _FOREIGN_MARKS:
        if data.startswith(mark):
            raise _wrong_encoding(file, 1, encoding, f"it begins with the byte order mark of {name}")
    if encoding is Encoding.WINDOWS_1252 and data.startswith(codecs.BOM_UTF8):
        raise _wrong_encoding(file, 1, encoding, "it begins with the byte order mark of UTF-8")
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise FileRefused(Finding("csv.nul", Place(file, line), {"encoding": encoding.value}))
    try:
        return data.decode(_CODECS[encoding])
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1
        reason = f"the byte 0x{error.object[error.start]:02X} is none of its letters"
        raise _wrong_encoding(file, line, encoding, reason) from error


def _after_separator_line(lines: list[str], separator: Separator, file: str) -> int:
    """How many lines to leave out at the beginning: one where it only names the separator."""
    named = _SEPARATOR_LINE.fullmatch(lines[0]) if lines else None
    if named is None:
        return 0
    if named[1] != separator.sign:
        facts = {"found": f'"{named[1]}"', "separator": separator.value}
        raise FileRefused(Finding("csv.separator", Place(file, 1), facts))
    return 1


def _parsed(lines: list[str], skipped: int, separator: str, file: str) -> Iterator[Row]:
    reader = csv.reader(lines, delimiter=separator, strict=True)
    well_formed = _well_formed(separator)
    while True:
        begin = reader.line_num
        try:
            cells = tuple(next(reader))
        except StopIteration:
            return
        except csv.Error as error:
            line = skipped + begin + 1
            if "larger than field limit" in str(error):
                raise _too_large(file, line, csv.field_size_limit(), "characters in one cell") from error
            raise _bad_quotes(file, line, str(error)) from error
        if any('"' in cell for cell in cells) and not well_formed.fullmatch(
            _joined(lines, begin, reader.line_num)
        ):
            reason = "a quote stands inside a cell that does not begin with one"
            raise _bad_quotes(file, skipped + begin + 1, reason)
        yield Row(skipped + begin + 1, cells)


def _well_formed(separator: str) -> re.Pattern[str]:
    """One record by the grammar of RFC 4180; no two ways lead through it, so it takes linear time."""
    cell = rf'(?:"(?:[^"]|"")*"|[^"{separator}\r\n]*)'
    return re.compile(rf"{cell}(?:{separator}{cell})*[\r\n]*")


def _joined(lines: list[str], begin: int, end: int) -> str:
    return "".join(lines[begin:end])


def _too_large(file: str, line: int | None, limit: int, what: str) -> FileRefused:
    return FileRefused(Finding("csv.too-large", Place(file, line), {"limit": limit, "what": what}))


def _wrong_encoding(file: str, line: int, encoding: Encoding, reason: str) -> FileRefused:
    facts = {"encoding": encoding.value, "reason": reason}
    return FileRefused(Finding("csv.encoding", Place(file, line), facts))


def _bad_quotes(file: str, line: int, reason: str) -> FileRefused:
    return FileRefused(Finding("csv.quotes", Place(file, line), {"reason": reason}))
