"""How a source spells its values: signs between cells and before decimals, dates, letters, units.

Nothing is guessed from a file. Separators, decimal signs and dates look alike in files that mean different
things, and a wrong guess prints a wrong size.
"""

from enum import StrEnum
from typing import Final


class Separator(StrEnum):
    """What stands between two cells."""

    COMMA = "comma"
    SEMICOLON = "semicolon"
    TAB = "tab"

    @property
    def sign(self) -> str:
        """The character itself."""
        return {"comma": ",", "semicolon": ";", "tab": "\t"}[self.value]


class DecimalSign(StrEnum):
    """What stands before the decimals."""

    POINT = "point"
    COMMA = "comma"

    @property
    def sign(self) -> str:
        """The character itself."""
        return {"point": ".", "comma": ","}[self.value]


class DateFormat(StrEnum):
    """How a date is written. A time such as 17:30 may follow it after a blank."""

    YEAR_FIRST = "YYYY-MM-DD"
    DAY_FIRST_DOTS = "DD.MM.YYYY"
    DAY_FIRST_STROKES = "DD/MM/YYYY"
    MONTH_FIRST_STROKES = "MM/DD/YYYY"
    ISO_8601 = "ISO 8601"
    """Such as 2026-11-30T17:30:00+01:00; without an offset it is the shop's time, without a time the day's end."""


class Encoding(StrEnum):
    """How letters are written as bytes. A byte order mark before UTF-8 is taken off with either name."""

    UTF_8 = "utf-8"
    UTF_8_SIG = "utf-8-sig"
    WINDOWS_1252 = "windows-1252"


class Unit(StrEnum):
    """What a measure is counted in."""

    MM = "mm"
    CM = "cm"
    M = "m"
    INCH = "in"
    FOOT = "ft"
    FEET_AND_INCHES = "ft in"
    """Such as 6' 6 1/2" or 6 ft 6.5 in."""
    POINT = "pt"
    AS_WRITTEN = "as written"
    """The value names its unit itself: 200 cm, 78 in, 6' 6"."""
    UM = "um"
    MIL = "mil"
    G_M2 = "g/m2"
    OZ_YD2 = "oz/yd2"


LENGTH_UNITS: Final = frozenset(
    {
        Unit.MM,
        Unit.CM,
        Unit.M,
        Unit.INCH,
        Unit.FOOT,
        Unit.FEET_AND_INCHES,
        Unit.POINT,
        Unit.AS_WRITTEN,
    }
)
THICKNESS_UNITS: Final = frozenset({Unit.UM, Unit.MM, Unit.MIL})
WEIGHT_UNITS: Final = frozenset({Unit.G_M2, Unit.OZ_YD2})


def folded(text: str) -> str:
    """A text as headings and table rows are compared: blanks and capitals do not matter."""
    return " ".join(text.split()).casefold()
