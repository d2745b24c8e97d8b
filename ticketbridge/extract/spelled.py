"""One text to one value, by the row that takes it. Nothing is guessed: what fits in no way is unreadable."""

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from ticketbridge.extract.found import Found
from ticketbridge.extract.measures import MeasureUnreadable, converted, length_as_written, with_feet
from ticketbridge.model.finishing import ALL_EDGES
from ticketbridge.model.spelling import DateFormat, DecimalSign, Unit, folded
from ticketbridge.model.substrate import LayerStack
from ticketbridge.model.ticket import Value
from ticketbridge.model.ticket_field import FORM_OF, Form, TicketField
from ticketbridge.vocabulary.units import number
from ticketbridge.vocabulary.words import LAYER_WORDS

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
_WORD_OF_LAYER: Final = dict(zip(("colour", "white", "clear"), LAYER_WORDS, strict=True))
LARGEST: Final = 1e9
"""No measure or number of an order is so large."""
_DAYS_END: Final = (23, 59, 59)


class ValueUnreadable(Exception):
    """The text is not of the form that its row asks for; ``allowed`` says which that is, in words."""

    def __init__(self, allowed: str) -> None:
        super().__init__(allowed)
        self.allowed = allowed


@dataclass(frozen=True, slots=True)
class Spelling:
    """How a value is written; as it stands, the way that defaults and tables write it.

    Attributes:
        time_zone: The shop's, for dates.
        unit: Of a measure; None is the one in the field's name.
        decimal_sign: What stands before decimals.
        date_format: How dates are written.
    """

    time_zone: str
    unit: Unit | None = None
    decimal_sign: DecimalSign = DecimalSign.POINT
    date_format: DateFormat = DateFormat.YEAR_FIRST


def value_of(field: TicketField, found: Sequence[Found], spelling: Spelling) -> Value:
    """The value of a field; only a list of words may be made of several things found.

    Raises:
        ValueUnreadable: It is not of that form.
    """
    first = found[0]
    if any(unicodedata.category(letter) == "Cc" for one in found for letter in one.raw):
        raise ValueUnreadable("text of one line without control characters")
    if FORM_OF[field] is Form.LIST:
        return tuple(
            word for one in found for part in re.split("[,;]", one.raw) if (word := " ".join(part.split()))
        )
    return _READ_AS[FORM_OF[field]](first, spelling)


def plain_value(field: TicketField, text: str, time_zone: str) -> Value:
    """The value of a text in the shop's own spelling, as defaults and tables have it.

    Raises:
        ValueUnreadable: It is not of that form.
    """
    return value_of(field, (Found(text, "", None),), Spelling(time_zone))


def _length(found: Found, spelling: Spelling) -> float:
    unit = spelling.unit or Unit.MM
    try:
        if unit is Unit.AS_WRITTEN:
            return length_as_written(found.raw, spelling.decimal_sign)
        if unit in (Unit.FEET_AND_INCHES, Unit.INCH) and found.typed is None:
            return with_feet(found.raw, spelling.decimal_sign, feet=unit is Unit.FEET_AND_INCHES)
    except MeasureUnreadable as error:
        raise ValueUnreadable(str(error)) from error
    return converted(_number(found, spelling), unit)


def _measure(found: Found, spelling: Spelling) -> float:
    value = _number(found, spelling)
    return value if spelling.unit is None else converted(value, spelling.unit, thickness=True)


def _number(found: Found, spelling: Spelling) -> float:
    typed = found.typed
    if isinstance(typed, int | float) and not isinstance(typed, bool) and 0 <= typed < LARGEST:
        return float(typed)
    sign = spelling.decimal_sign.sign
    if not re.fullmatch(rf"\d{{1,9}}(?:{re.escape(sign)}\d{{1,6}})?", found.raw, re.ASCII):
        raise ValueUnreadable(f"a plain number such as 1234{sign}5, nothing between thousands")
    return float(found.raw.replace(sign, "."))


def _whole(found: Found, _: Spelling) -> int:
    if isinstance(found.typed, float) and found.typed.is_integer() and 0 <= found.typed < LARGEST:
        return int(found.typed)
    if not _WHOLE.fullmatch(found.raw):
        raise ValueUnreadable("a whole number in plain digits")
    return int(found.raw)


def _moment(found: Found, spelling: Spelling) -> datetime:
    zone = ZoneInfo(spelling.time_zone)
    if isinstance(found.typed, datetime):
        return _end_of_day(found.typed, zone)
    form = spelling.date_format
    if form is DateFormat.ISO_8601:
        return _iso(found.raw, zone)
    allowed = f"a date such as {form.value}, perhaps with a time such as 17:30 after it"
    said = _DATES[form].fullmatch(found.raw)
    if said is None:
        raise ValueUnreadable(allowed)
    date = int(said["year"]), int(said["month"]), int(said["day"])
    clock = _DAYS_END if said["hour"] is None else (int(said["hour"]), int(said["minute"]), 0)
    try:
        return datetime(*date, *clock, tzinfo=zone)
    except ValueError as error:
        raise ValueUnreadable(f"{allowed}, and one that the calendar has") from error


def _iso(text: str, zone: ZoneInfo) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise ValueUnreadable("a date by ISO 8601 such as 2026-11-30 or 2026-11-30T17:30:00+01:00") from error
    if moment.tzinfo is not None:
        return moment
    return moment.replace(tzinfo=zone) if ":" in text or "T" in text else _end_of_day(moment, zone)


def _end_of_day(moment: datetime, zone: ZoneInfo) -> datetime:
    """A date alone has no time in its cell; midnight is how a spreadsheet writes that."""
    hour, minute, second = _DAYS_END if moment.time() == moment.min.time() else moment.timetuple()[3:6]
    return moment.replace(hour=hour, minute=minute, second=second, microsecond=0, tzinfo=zone)


def _yes_or_no(found: Found, _: Spelling) -> bool:
    if found.raw.casefold() not in _YES_OR_NO:
        raise ValueUnreadable("yes or no")
    return _YES_OR_NO[found.raw.casefold()]


def _with_edges(found: Found, spelling: Spelling) -> tuple[str, ...]:
    width, *edges = (
        found.raw.replace(",", " ").split()
        if spelling.decimal_sign is DecimalSign.POINT
        else (found.raw.split())
    )
    if not set(edges) <= set(ALL_EDGES):
        raise ValueUnreadable("a width, then any of " + ", ".join(ALL_EDGES))
    return number(_length(Found(width, found.path, found.line), spelling)), *edges


def _points(found: Found, spelling: Spelling) -> tuple[str, ...]:
    pairs = [pair.split() for pair in found.raw.split(";") if pair.strip()]
    if not pairs or any(len(pair) != 2 for pair in pairs):
        raise ValueUnreadable("pairs of lengths from the lower left corner, such as 25 25; 25 475")
    return tuple(
        " ".join(number(_length(Found(text, found.path, found.line), spelling)) for text in pair)
        for pair in pairs
    )


def _layers(found: Found, _: Spelling) -> str:
    """In the words of a ticket; what is no stack of ours stays as it is, and the mapping says so."""
    stacks = {stack.value: stack.layers for stack in LayerStack}
    layers = stacks.get(folded(found.raw))
    return found.raw if layers is None else " ".join(_WORD_OF_LAYER[layer] for layer in layers)


def _text(found: Found, _: Spelling) -> str:
    return found.raw


_READ_AS: Final[Mapping[Form, Callable[[Found, Spelling], Value]]] = {
    Form.TEXT: _text,
    Form.LENGTH: _length,
    Form.THICKNESS: _measure,
    Form.WEIGHT: _measure,
    Form.WHOLE_NUMBER: _whole,
    Form.MOMENT: _moment,
    Form.YES_OR_NO: _yes_or_no,
    Form.WITH_EDGES: _with_edges,
    Form.POINTS: _points,
    Form.LAYERS: _layers,
}
