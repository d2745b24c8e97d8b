"""How a CSV file or a workbook comes apart, and what stands in its columns."""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from typing import Any, Final

from ticketbridge.extract.csv_rows import rows_of
from ticketbridge.extract.found import Found
from ticketbridge.extract.rows import FileRefused, Row
from ticketbridge.extract.xlsx_rows import HEADING_JOINT, sheet_names, xlsx_rows_of
from ticketbridge.model.reads import FileKind, Within
from ticketbridge.model.shop import Limits
from ticketbridge.model.spelling import Encoding, Separator, folded
from ticketbridge.prove.draft.survey import NothingFound, Spot, Survey

_LIKE_A_VALUE: Final = re.compile(
    r"\d+(?:[.,]\d+)?|.*\.(?:pdf|tiff?|jpe?g|eps)|\d{1,4}[.\-/]\d{1,2}[.\-/]\d{1,4}.*", re.IGNORECASE
)
_FIRST_LINES: Final = 30
_MOST_HEADING_LINES: Final = 5
Layout = dict[str, tuple[Any, str]]


def survey_csv(samples: Sequence[tuple[str, bytes]], limits: Limits) -> Survey:
    """What CSV files hold.

    Args:
        samples: Names and contents.
        limits: What a single file may ask of the machine.

    Raises:
        FileRefused: One does not come apart.
        NothingFound: The headings differ.
    """
    joined = b"\n".join(data for _, data in samples)
    encoding, why_encoding = _encoding(joined)
    separator, why_separator = _separator(samples[0][1], encoding)
    layout: Layout = {
        "separator": (separator.value, why_separator),
        "encoding": (encoding.value, why_encoding),
    }
    return _survey(
        FileKind.CSV, [rows_of(data, separator, encoding, limits, file) for file, data in samples], layout
    )


def survey_xlsx(samples: Sequence[tuple[str, bytes]], limits: Limits) -> Survey:
    """What workbooks hold; the sheet with the most lines counts.

    Args:
        samples: Names and contents.
        limits: What a single file may ask of the machine.

    Raises:
        FileRefused: One is no workbook.
        NothingFound: No headings stand above values.
    """
    file, data = samples[0]
    sheets: dict[str, list[Row]] = {}
    for name in sheet_names(data, limits, file):
        try:
            sheets[name] = xlsx_rows_of(data, limits, file, sheet=name, heading_line=1, heading_lines=1)
        except FileRefused as refusal:
            if refusal.finding.code != "xlsx.empty":
                raise
    if not sheets:
        raise NothingFound("no sheet has lines below headings")
    sheet, rows = max(sheets.items(), key=lambda one: sum(bool(cell) for row in one[1] for cell in row.cells))
    line, lines = _headings(rows)
    layout: Layout = {"sheet": (sheet, "it has the most lines")}
    if line > 1:
        layout["heading_line"] = (line, "the first line with headings")
    if lines > 1:
        layout["heading_lines"] = (lines, "the line above the last headings has headings, too")
    every = [
        xlsx_rows_of(content, limits, name, sheet=sheet, heading_line=line, heading_lines=lines)
        for name, content in samples
    ]
    return _survey(FileKind.XLSX, every, layout)


def _survey(kind: FileKind, files: Sequence[Sequence[Row]], layout: Layout) -> Survey:
    headings = files[0][0].cells
    if any([folded(cell) for cell in rows[0].cells] != [folded(cell) for cell in headings] for rows in files):
        raise NothingFound("the samples do not all have the same headings")
    lines = [row for rows in files for row in rows[1:] if len(row.cells) == len(headings)]
    counted = Counter(folded(heading) for heading in headings)
    spots = [
        _column(heading.strip(), column, lines)
        for column, heading in enumerate(headings)
        if heading.strip() and counted[folded(heading)] == 1
    ]
    return Survey(kind, [spot for spot in spots if spot.found], layout)


def _column(heading: str, column: int, lines: Sequence[Row]) -> Spot:
    values = tuple(
        Found(text, heading, row.line, row.typed[column] if row.typed else None)
        if (text := row.cells[column].strip())
        else None
        for row in lines
    )
    *around, name = heading.split(HEADING_JOINT)
    return Spot(heading, Within.ORDER, name, tuple(around), values)


def _encoding(data: bytes) -> tuple[Encoding, str]:
    if data.startswith(b"\xef\xbb\xbf"):
        return Encoding.UTF_8, "it begins with its byte order mark"
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        return Encoding.WINDOWS_1252, f"the byte 0x{data[error.start]:02X} is no UTF-8"
    plain = text.isascii()
    return (
        Encoding.UTF_8,
        "nothing but plain letters: any would do" if plain else "its letters beyond ASCII are UTF-8",
    )


def _separator(data: bytes, encoding: Encoding) -> tuple[Separator, str]:
    text = data.decode("cp1252" if encoding is Encoding.WINDOWS_1252 else "utf-8-sig", errors="replace")
    lines = [line for line in text.splitlines() if line.strip()][:200]
    if lines and (said := re.fullmatch(r"sep=(.)", lines[0].strip(), re.IGNORECASE)):
        found = next((one for one in Separator if one.sign == said[1]), None)
        if found is not None:
            return found, "the first line says so"

    def cut(separator: Separator) -> tuple[float, int]:
        widths = [len(cells) for cells in csv.reader(io.StringIO("\n".join(lines)), delimiter=separator.sign)]
        usual, count = Counter(widths).most_common(1)[0] if widths else (1, 1)
        return (count / len(widths) if usual > 1 else 0.0), usual

    best = max(Separator, key=cut)
    share, width = cut(best)
    return best, f"{share:.0%} of the lines come apart into {width} cells"


def _headings(rows: Sequence[Row]) -> tuple[int, int]:
    """The line in which the headings begin, and how many lines they take."""
    lines = [rows[0], *rows[1:_FIRST_LINES]]
    widest = max(_filled(row) for row in lines)
    for place, row in enumerate(lines):
        is_data = any(_LIKE_A_VALUE.fullmatch(cell.strip()) for cell in row.cells) or any(
            one is not None for one in row.typed
        )
        if not is_data or _filled(row) < widest / 2:
            continue
        if place == 0:
            break
        first = place - 1
        while (
            first > 0
            and place - first < _MOST_HEADING_LINES
            and lines[first - 1].line == lines[first].line - 1
            and _filled(lines[first - 1]) > 1
        ):
            first -= 1
        return lines[first].line, lines[place - 1].line - lines[first].line + 1
    raise NothingFound("no headings stand above lines with values")


def _filled(row: Row) -> int:
    return sum(bool(cell.strip()) for cell in row.cells)
