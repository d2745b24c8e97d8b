"""Lengths, thicknesses and weights in the units of the trade: feet and inches, halves and eighths, units written out.

Sizes count to a micrometre, as everywhere in a ticket, so that a size given in inches and the same in millimetres
are one size.
"""

import re
from collections.abc import Callable, Mapping
from typing import Final

from ticketbridge.model.spelling import DecimalSign, Unit
from ticketbridge.vocabulary.units import (
    g_m2_from_oz_yd2,
    mm_from_feet,
    mm_from_inches,
    mm_from_points,
    um_from_mil,
)

MM_PER_CM: Final = 10.0
MM_PER_M: Final = 1000.0
UM_PER_MM: Final = 1000.0

_TO_MM: Final[Mapping[Unit, Callable[[float], float]]] = {
    Unit.MM: float,
    Unit.CM: lambda length_cm: length_cm * MM_PER_CM,
    Unit.M: lambda length_m: length_m * MM_PER_M,
    Unit.INCH: mm_from_inches,
    Unit.FOOT: mm_from_feet,
    Unit.FEET_AND_INCHES: mm_from_feet,
    Unit.POINT: mm_from_points,
}
_TO_UM: Final[Mapping[Unit, Callable[[float], float]]] = {
    Unit.UM: float,
    Unit.MM: lambda thickness_mm: thickness_mm * UM_PER_MM,
    Unit.MIL: um_from_mil,
    Unit.G_M2: float,
    Unit.OZ_YD2: g_m2_from_oz_yd2,
}
_WORDS: Final[Mapping[str, Unit]] = {
    "mm": Unit.MM, "cm": Unit.CM, "m": Unit.M, "pt": Unit.POINT,
    "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, '"': Unit.INCH, "\u2033": Unit.INCH,
    "ft": Unit.FOOT, "foot": Unit.FOOT, "feet": Unit.FOOT, "'": Unit.FOOT, "\u2032": Unit.FOOT,
}  # fmt: skip
_ANY_NUMBER: Final = r"\d{1,9}(?:[.,]\d{1,6})?"
_INCH_SIGN: Final = re.compile(' ?(?:in|inch|inches|"|\u2033)$')
_INCHES: Final = re.compile(
    rf"(?P<whole>{_ANY_NUMBER})?(?P<joint>[ -])?(?:(?P<over>\d{{1,3}})/(?P<under>\d{{1,3}}))?", re.ASCII
)
_FEET: Final = re.compile(
    rf"(?:(?P<feet>{_ANY_NUMBER}) ?(?:ft|foot|feet|'|\u2032))?[ -]?(?P<inches>[\d.,/ -]*(?:in|inch|inches|\"|\u2033)?)",
    re.ASCII,
)
_WRITTEN: Final = re.compile(rf"(?P<value>{_ANY_NUMBER}) ?(?P<unit>[a-z\"'\u2032\u2033]+)", re.ASCII)


class MeasureUnreadable(Exception):
    """It is no such measure; the text says what it should be."""


def converted(value: float, unit: Unit, *, thickness: bool = False) -> float:
    """A length in millimetres to the micrometre; a thickness in micrometres; a weight in g/m2."""
    return round(_TO_UM[unit](value) if thickness else _TO_MM[unit](value), 3)


def with_feet(text: str, sign: DecimalSign, *, feet: bool) -> float:
    """Millimetres of inches such as 78 1/2, or of feet and inches such as 6' 6 1/2"; a number alone is inches.

    Raises:
        MeasureUnreadable: It is neither.
    """
    said = text.strip().casefold()
    form = "feet and inches such as 6' 6 1/2\"" if feet else "inches such as 78 or 78 1/2"
    found = _FEET.fullmatch(said) if feet else None
    inches = said if found is None else found["inches"].strip()
    if (feet and found is None) or not said:
        raise MeasureUnreadable(form)
    whole_feet = _plain(found["feet"], sign, form) if found and found["feet"] else 0.0
    return converted(whole_feet * 12 + (_inches(inches, sign, form) if inches else 0.0), Unit.INCH)


def length_as_written(text: str, sign: DecimalSign) -> float:
    """Millimetres of a length that names its unit.

    Raises:
        MeasureUnreadable: It names none that is known.
    """
    form = "a number with its unit, such as 200 cm, 78 in or 6' 6\""
    found = _WRITTEN.fullmatch(text.strip().casefold())
    if found and found["unit"] in _WORDS:
        return converted(_plain(found["value"], sign, form), _WORDS[found["unit"]])
    if not re.search("ft|f[o]{2}t|feet|['\u2032\"\u2033]|in", text.casefold()):
        raise MeasureUnreadable(form)
    try:
        return with_feet(text, sign, feet=True)
    except MeasureUnreadable as error:
        raise MeasureUnreadable(form) from error


def _inches(text: str, sign: DecimalSign, form: str) -> float:
    """A whole number, a part such as 1/2, or both with a blank or hyphen between."""
    found = _INCHES.fullmatch(_INCH_SIGN.sub("", text))
    if found is None or not found[0] or bool(found["joint"]) != bool(found["whole"] and found["over"]):
        raise MeasureUnreadable(form)
    if found["over"] and int(found["over"]) >= int(found["under"]):
        raise MeasureUnreadable(form)
    part = int(found["over"]) / int(found["under"]) if found["over"] else 0.0
    return (_plain(found["whole"], sign, form) if found["whole"] else 0.0) + part


def _plain(text: str, sign: DecimalSign, form: str) -> float:
    other = "," if sign is DecimalSign.POINT else "."
    if other in text:
        raise MeasureUnreadable(f"{form}, with a {sign} before decimals")
    return float(text.replace(",", "."))
