"""Whether the values of a spot can be those of a field, and how they are spelled: proven with the reader itself."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from statistics import median
from typing import Final

from ticketbridge.extract.found import Found
from ticketbridge.extract.spelled import Spelling, ValueUnreadable, value_of
from ticketbridge.model.spelling import LENGTH_UNITS, DateFormat, DecimalSign, Unit
from ticketbridge.model.ticket_field import FORM_OF, UNITS_OF, WORDS_OF, Form, TicketField

F = TicketField
UNITS_BY_SIZE: Final = (Unit.MM, Unit.CM, Unit.INCH, Unit.M, Unit.FOOT)
"""Units that a number alone may be counted in, the likeliest first."""
PLAUSIBLE_MM: Final[Mapping[TicketField, tuple[float, float]]] = {
    F.FINISHED_WIDTH_MM: (40, 60_000),
    F.FINISHED_HEIGHT_MM: (40, 60_000),
    F.BLEED_MM: (1, 100),
    F.ROLL_WIDTH_MM: (500, 5_100),
    F.PANEL_OVERLAP_MM: (5, 100),
    F.EYELET_SPACING_MM: (90, 1_500),
    F.PATTERN_REPEAT_MM: (90, 3_000),
    F.HEM: (12, 150),
    F.POLE_POCKET: (25, 250),
}
"""Lengths that the trade has, from memory; a unit by which a value falls outside is none of it."""
_NUMBER: Final = re.compile(r"\d{1,9}(?:[.,]\d{1,6})?", re.ASCII)
_FILE: Final = re.compile(r".*\.(?:pdf|tiff?|jpe?g|png|eps|ai|psd|svg|ps)(?:[?#].*)?", re.IGNORECASE)
_MIME: Final = re.compile(r"(?:application|image)/[a-z0-9.+-]+", re.IGNORECASE)
_CODE: Final = re.compile(r"(?=.*\d)[\w./#:-]+(?: \d+)?")
_ZONE: Final = "UTC"
MOST_LOOKED_AT: Final = 500
"""Values of one spot that are looked at; more would say the same."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What values say of a field.

    Attributes:
        fits: How well they fit, from 0 to 1.
        why: In words.
        unit: Of a measure.
        decimal_sign: What stands before decimals.
        date_format: How dates are written.
        others: Other ways to read them that fit as well, in words.
        wordy: They must go through a table to be read.
    """

    fits: float
    why: str = ""
    unit: Unit | None = None
    decimal_sign: DecimalSign | None = None
    date_format: DateFormat | None = None
    others: tuple[str, ...] = ()
    wordy: bool = False


NO: Final = Judged(0.0)


def judged(field: TicketField, found: Sequence[Found], unit: Unit | None) -> Judged:
    """How well values fit a field.

    Args:
        field: The field.
        found: The values that are there; at least one.
        unit: The unit that the names or a unit beside the value say.
    """
    some = list({one.raw: one for one in found}.values())[:MOST_LOOKED_AT]
    if field in _OF_FIELD:
        return _OF_FIELD[field](some)
    form = FORM_OF[field]
    if form in (Form.LENGTH, Form.THICKNESS, Form.WEIGHT, Form.WITH_EDGES):
        return _measure(field, some, unit)
    if form is Form.TEXT and field in WORDS_OF:
        closed = {word.casefold() for word in WORDS_OF[field]}
        if all(one.raw.casefold() in closed for one in some):
            return Judged(1.0, "its words are the words of a ticket")
        return Judged(0.75, wordy=True) if _few_words(some) else NO
    if form is Form.YES_OR_NO:
        if all(isinstance(one.typed, bool) or _reads(field, [one], Spelling(_ZONE)) for one in some):
            return Judged(1.0, "yes or no")
        return Judged(0.8, wordy=True) if _few_words(some) else NO
    if form is Form.LAYERS:
        stacks = ("colour", "white", "clear", "color")
        if all(set(re.findall(r"\w+", one.raw.casefold())) <= set(stacks) for one in some):
            return Judged(1.0, "its words are names of layers")
        return Judged(0.8, wordy=True) if _few_words(some) else NO
    if form is Form.WHOLE_NUMBER:
        return Judged(1.0, "whole numbers") if _reads(field, some, Spelling(_ZONE)) else NO
    return Judged(0.8)


def by_values(field: TicketField, found: Sequence[Found]) -> float:
    """How surely values alone, whatever they are called, are those of a field."""
    texts = [one.raw for one in found]
    if field is F.ARTWORK_URL and all(_FILE.fullmatch(text) for text in texts):
        return 0.85
    if field is F.ARTWORK_MIME_TYPE and all(_MIME.fullmatch(text) for text in texts):
        return 0.9
    if field in WORDS_OF and {text.casefold() for text in texts} <= {
        word.casefold() for word in WORDS_OF[field]
    }:
        return 0.7
    if field is F.LAYER_STACK and any("," in text for text in texts) and judged(field, found, None).fits == 1:
        return 0.8
    if field is F.DUE and _due(list(found)).fits:
        return 0.5
    return 0.0


def are_files(texts: Iterable[str], ending: str) -> bool:
    """Whether all texts end so."""
    return all(text.casefold().endswith(ending) for text in texts)


def code_like(texts: Sequence[str]) -> bool:
    """Whether most texts are codes, such as C-101, and not names."""
    return sum(bool(_CODE.fullmatch(text)) for text in texts) > len(texts) / 2


def _reads(field: TicketField, found: Sequence[Found], spelling: Spelling) -> bool:
    try:
        for one in found:
            value_of(field, (one,), spelling)
    except ValueUnreadable:
        return False
    return True


def _measure(field: TicketField, some: Sequence[Found], unit: Unit | None) -> Judged:
    form = FORM_OF[field]
    sign = _decimal_sign(one.raw for one in some if one.typed is None)
    edged = form is Form.WITH_EDGES
    numbers = [one.raw.split()[0] if edged and one.raw.split() else one.raw for one in some]
    if not all(_NUMBER.fullmatch(text) for text in numbers):
        for written in (Unit.AS_WRITTEN, Unit.FEET_AND_INCHES):
            if written in UNITS_OF[form] and _reads(
                field, some, Spelling(_ZONE, written, sign or DecimalSign.POINT)
            ):
                return Judged(1.0, "each value names its unit", written, sign)
        return Judged(0.7, wordy=True) if edged and _few_words(some) else NO
    values = [float(text.replace(",", ".")) for text in numbers]
    units = UNITS_OF[form]
    if unit in units and (form is not Form.LENGTH or _plausible(field, values, unit) or unit is not Unit.M):
        judgement = Judged(1.0, f"counted in {unit}, as it is called", unit, sign)
    else:
        judgement = _by_size(field, values, sign)
    read = Spelling(_ZONE, judgement.unit, sign or DecimalSign.POINT)
    if judgement.fits and _reads(field, some, read):
        return judgement
    return Judged(0.7, wordy=True) if edged and _few_words(some) else NO


def _by_size(field: TicketField, values: Sequence[float], sign: DecimalSign | None) -> Judged:
    """The unit by which all values are such as the trade has."""
    if field not in PLAUSIBLE_MM:
        return Judged(0.8, "", None, sign)
    fitting = [unit for unit in UNITS_BY_SIZE if _plausible(field, values, unit)]
    if not any(values):
        return Judged(0.6, "nothing but 0", None, sign)
    if not fitting:
        return NO
    low, high = min(value for value in values if value), max(values)
    shown = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    first = fitting[0]
    if first is Unit.MM and field in _SIZES and median(values) < _SMALL_IF_MM and Unit.CM in fitting:
        first = Unit.CM
    others = tuple(str(unit) for unit in fitting if unit is not first and first is not Unit.MM)
    return Judged(0.8 if others else 0.9, f"{shown} fits {first}", first, sign, others=others)


_SIZES: Final = (F.FINISHED_WIDTH_MM, F.FINISHED_HEIGHT_MM)
_SMALL_IF_MM: Final = 400.0
"""Where half the pieces would be smaller than this in millimetres, wide-format work is more likely counted in cm."""
_MM: Final = {
    Unit.MM: 1.0,
    Unit.CM: 10.0,
    Unit.M: 1000.0,
    Unit.INCH: 25.4,
    Unit.FOOT: 304.8,
    Unit.POINT: 0.353,
}


def _plausible(field: TicketField, values: Iterable[float], unit: Unit) -> bool:
    low, high = PLAUSIBLE_MM.get(field, (0.0, 1e9))
    return unit in LENGTH_UNITS and all(
        low <= value * _MM.get(unit, 1.0) <= high for value in values if value
    )


def _decimal_sign(texts: Iterable[str]) -> DecimalSign | None:
    """What stands before decimals; None where nothing shows it."""
    signs = {sign for text in texts for sign in re.findall(r"(?<=\d)[.,](?=\d)", text)}
    return {"{,}": DecimalSign.COMMA, "{.}": DecimalSign.POINT}.get("{" + "".join(sorted(signs)) + "}")


def _few_words(some: Sequence[Found]) -> bool:
    """Whether a table could hold them."""
    return len(some) <= 12 and all(len(one.raw) <= 40 for one in some)


def _due(some: Sequence[Found]) -> Judged:
    if all(isinstance(one.typed, datetime) for one in some):
        return Judged(1.0, "dates")
    fitting = [form for form in DateFormat if _reads(F.DUE, some, Spelling(_ZONE, date_format=form))]
    if not fitting:
        return NO
    others = tuple(str(form) for form in fitting[1:] if form is not DateFormat.ISO_8601)
    if fitting[0] is DateFormat.YEAR_FIRST:
        others = ()
    return Judged(0.8 if others else 1.0, f"dates as {fitting[0]}", date_format=fitting[0], others=others)


def _quantity(some: Sequence[Found]) -> Judged:
    whole = _reads(F.QUANTITY, some, Spelling(_ZONE))
    return Judged(1.0, "whole numbers") if whole and all(float(one.raw) >= 1 for one in some) else NO


def _priority(some: Sequence[Found]) -> Judged:
    if _reads(F.PRIORITY, some, Spelling(_ZONE)) and all(0 <= float(one.raw) <= 100 for one in some):
        return (
            Judged(1.0, "whole numbers up to 100")
            if any(float(one.raw) > 1 for one in some)
            else Judged(0.8, wordy=True)
        )
    return Judged(0.9, wordy=True) if _few_words(some) else NO


def _artwork(some: Sequence[Found]) -> Judged:
    if all(_FILE.fullmatch(one.raw) for one in some):
        return Judged(1.0, "names of files")
    return Judged(0.6) if all("/" in one.raw or "." in one.raw for one in some) else NO


def _mime(some: Sequence[Found]) -> Judged:
    return Judged(1.0, "kinds of files") if all(_MIME.fullmatch(one.raw) for one in some) else NO


def _codes(some: Sequence[Found]) -> Judged:
    if any(_FILE.fullmatch(one.raw) for one in some) or all(isinstance(one.typed, bool) for one in some):
        return NO
    if _due(some).date_format is not None:
        return NO
    return Judged(1.0, "codes") if code_like([one.raw for one in some]) else Judged(0.7)


def _names(some: Sequence[Found]) -> Judged:
    if any(_FILE.fullmatch(one.raw) or isinstance(one.typed, int | float) for one in some):
        return NO
    texts = [one.raw for one in some]
    if all(_NUMBER.fullmatch(text) for text in texts) or _due(some).fits:
        return NO
    return Judged(0.75) if code_like(texts) else Judged(1.0, "names")


def _separations(some: Sequence[Found]) -> Judged:
    inks = re.compile(r"cyan|magenta|yellow|black|white|schwarz|gelb|wei(?:ß|ss)", re.IGNORECASE)
    return Judged(1.0, "names of inks") if all(inks.search(one.raw) for one in some) else NO


def _text(some: Sequence[Found]) -> Judged:
    if any(_FILE.fullmatch(one.raw) for one in some) or _due(some).date_format is not None:
        return NO
    return replace(Judged(0.9), wordy=False)


_OF_FIELD: Final[Mapping[TicketField, Callable[[Sequence[Found]], Judged]]] = {
    F.DUE: _due,
    F.QUANTITY: _quantity,
    F.PRIORITY: _priority,
    F.ARTWORK_URL: _artwork,
    F.ARTWORK_MIME_TYPE: _mime,
    F.JOB_ID: _codes,
    F.JOB_PART_ID: _codes,
    F.CUSTOMER_ID: _codes,
    F.CUSTOMER_ORDER_ID: _codes,
    F.CUSTOMER_NAME: _names,
    F.ORDER_DESCRIPTIVE_NAME: _names,
    F.DESCRIPTIVE_NAME: _names,
    F.STOCK_BRAND: _text,
    F.PRODUCT_ID: _text,
    F.SEPARATIONS: _separations,
}
