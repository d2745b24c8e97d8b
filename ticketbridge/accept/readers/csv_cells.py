"""One cell to one value, by the rules of its column. Nothing is guessed: what fits in no way is unreadable."""

import re
import unicodedata
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from ticketbridge.model.csv_table import LENGTHS, CsvColumn, CsvField, CsvTable, DateFormat, LengthUnit
from ticketbridge.model.ticket import Value
from ticketbridge.vocabulary.units import mm_from_feet, mm_from_inches, mm_from_points

MM_PER_CM: Final = 10.0

_TO_MM: Final[Mapping[LengthUnit, Callable[[float], float]]] = {
    LengthUnit.MM: float,
    LengthUnit.CM: lambda length_cm: length_cm * MM_PER_CM,
    LengthUnit.INCH: mm_from_inches,
    LengthUnit.POINT: mm_from_points,
    LengthUnit.FOOT: mm_from_feet,
}

_WHOLE: Final = re.compile(r"\d{1,9}", re.ASCII)
_CLOCK: Final = r"(?: (?P<hour>\d{1,2}):(?P<minute>\d{2}))?"
_DATES: Final[Mapping[DateFormat, re.Pattern[str]]] = {
    DateFormat.YEAR_FIRST: re.compile(
        r"(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})" + _CLOCK, re.ASCII
    ),
    DateFormat.DAY_FIRST_DOTS: re.compile(
        r"(?P<day>\d{1,2})\.(?P<month>\d{1,2})\.(?P<year>\d{4})" + _CLOCK, re.ASCII
    ),
    DateFormat.DAY_FIRST_STROKES: re.compile(
        r"(?P<day>\d{1,2})/(?P<month>\d{1,2})/(?P<year>\d{4})" + _CLOCK, re.ASCII
    ),
    DateFormat.MONTH_FIRST_STROKES: re.compile(
        r"(?P<month>\d{1,2})/(?P<day>\d{1,2})/(?P<year>\d{4})" + _CLOCK, re.ASCII
    ),
}
_YES_OR_NO: Final = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}

_WHOLE_NUMBERS: Final = frozenset({CsvField.QUANTITY, CsvField.PRIORITY, CsvField.ARTWORK_PAGE})
_MEASURES: Final = frozenset({CsvField.THICKNESS_UM, CsvField.WEIGHT_G_M2})


class CellUnreadable(Exception):
    """The cell is not of the form that its column asks for; ``allowed`` says which that is, in words."""

    def __init__(self, allowed: str) -> None:
        super().__init__(allowed)
        self.allowed = allowed


def value_of(text: str, column: CsvColumn, table: CsvTable, time_zone: str) -> Value:
    """The value of a cell that is not empty.

    Args:
        text: The cell, without blanks around it.
        column: Its column.
        table: How the file spells numbers and dates.
        time_zone: The shop's, for dates.

    Raises:
        CellUnreadable: It is not of that form.
    """
    if any(unicodedata.category(letter) == "Cc" for letter in text):
        raise CellUnreadable("text of one line without control characters")
    if column.field in LENGTHS:
        return _TO_MM[column.unit or LengthUnit.MM](_number(text, table))
    if column.field in _MEASURES:
        return _number(text, table)
    if column.field in _WHOLE_NUMBERS:
        return _whole(text)
    if column.field is CsvField.DUE:
        return _moment(text, table.date_format, time_zone)
    if column.field is CsvField.MAY_ROTATE:
        return _yes_or_no(text)
    return text


def _number(text: str, table: CsvTable) -> float:
    sign = table.decimal_sign.sign
    if not re.fullmatch(rf"\d{{1,9}}(?:{re.escape(sign)}\d{{1,6}})?", text, re.ASCII):
        raise CellUnreadable(f"a plain number such as 1234{sign}5, nothing between thousands")
    return float(text.replace(sign, "."))


def _whole(text: str) -> int:
    if not _WHOLE.fullmatch(text):
        raise CellUnreadable("a whole number in plain digits")
    return int(text)


def _moment(text: str, form: DateFormat, time_zone: str) -> datetime:
    allowed = f"a date such as {form.value}, perhaps with a time such as 17:30 after it"
    found = _DATES[form].fullmatch(text)
    if found is None:
        raise CellUnreadable(allowed)
    date = int(found["year"]), int(found["month"]), int(found["day"])
    clock = (23, 59, 59) if found["hour"] is None else (int(found["hour"]), int(found["minute"]), 0)
    try:
        return datetime(*date, *clock, tzinfo=ZoneInfo(time_zone))
    except ValueError as error:
        raise CellUnreadable(f"{allowed}, and one that the calendar has") from error


def _yes_or_no(text: str) -> bool:
    if text.casefold() not in _YES_OR_NO:
        raise CellUnreadable("yes or no")
    return _YES_OR_NO[text.casefold()]
