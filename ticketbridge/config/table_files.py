"""Tables that people keep in a spreadsheet beside the mapping: read, checked row by row, put in its place."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from ticketbridge.extract.csv_rows import rows_of
from ticketbridge.extract.rows import FileRefused, Row
from ticketbridge.extract.xlsx_rows import xlsx_rows_of
from ticketbridge.model.codes import sentence
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.lookup import LookupRow, LookupTable, Match
from ticketbridge.model.shop import Limits
from ticketbridge.model.spelling import folded

LARGEST_TABLE_BYTES: Final = 4 * 1024 * 1024
MOST_ROWS: Final = 10_000
HEADINGS: Final = ("says", "means")


def table_rows(file: Path, table: LookupTable) -> tuple[list[dict[str, str]], list[Finding]]:
    """The rows of a table's spreadsheet as a mapping would write them, and what is wrong with it.

    Args:
        file: The spreadsheet.
        table: What the mapping says of it.
    """
    place = Place(str(file))
    try:
        rows = _rows(file, table)
    except OSError as error:
        return [], [Finding("config.table-file", place, {"reason": error.strerror or str(error)})]
    except FileRefused as refused:
        at = Place(str(file), refused.finding.place.line)
        return [], [Finding("config.table-file", at, {"reason": sentence(refused.finding)})]
    return _checked(rows, file, table.match)


def _rows(file: Path, table: LookupTable) -> Sequence[Row]:
    with file.open("rb") as stream:
        data = stream.read(LARGEST_TABLE_BYTES + 1)
    limits = Limits(ticket_bytes=LARGEST_TABLE_BYTES, lines_per_file=MOST_ROWS)
    if file.suffix == ".xlsx":
        return xlsx_rows_of(data, limits, file.name, sheet=None, heading_line=1, heading_lines=1)
    return rows_of(data, table.separator, table.encoding, limits, file.name)


def _checked(rows: Sequence[Row], file: Path, match: Match) -> tuple[list[dict[str, str]], list[Finding]]:
    heading, *lines = rows
    names = [folded(cell) for cell in heading.cells]
    missing = [name for name in HEADINGS if names.count(name) != 1]
    if missing:
        why = f"it needs one column with the heading {missing[0]}, and has {', '.join(heading.cells)}"
        return [], [Finding("config.table-file", Place(str(file), heading.line), {"reason": why})]
    columns = [names.index(name) for name in HEADINGS]
    found: list[dict[str, str]] = []
    findings: list[Finding] = []
    first_line: dict[str, int] = {}
    for row in lines:
        says, means = ((row.cells[at].strip() if at < len(row.cells) else "") for at in columns)
        key = says if match is Match.EXACT else folded(says)
        reason = _unfit(says, means, match) or _again(says, first_line.get(key))
        if reason:
            findings.append(Finding("config.table-row", Place(str(file), row.line), {"reason": reason}))
            continue
        first_line[key] = row.line
        found.append({"says": says, "means": means})
    return found, findings


def _unfit(says: str, means: str, match: Match) -> str | None:
    if not says or not means:
        return "its cell below says or means is empty"
    if match is Match.PATTERN:
        try:
            re.compile(says)
        except re.error as error:
            return f'"{says}" is no regular expression: {error}'
    try:
        LookupRow(says=says, means=means)
    except ValidationError as error:
        return str(error.errors()[0]["msg"])
    return None


def _again(says: str, line: int | None) -> str | None:
    return None if line is None else f'"{says}" stands in line {line} already'


def with_rows(data: dict[str, Any], rows: dict[str, list[dict[str, str]]]) -> dict[str, Any]:
    """A mapping's data with the rows of its spreadsheets put into its tables."""
    tables = {
        name: {**block, "rows": rows[name]} if name in rows else block
        for name, block in data["tables"].items()
    }
    return {**data, "tables": tables}
