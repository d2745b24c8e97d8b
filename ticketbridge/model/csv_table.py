"""How a source's CSV files are to be read: which heading holds which value, in which unit and spelling.

Nothing is guessed from the file. Separators, decimal signs and dates look alike in files that mean different
things, and a wrong guess prints a wrong size.
"""

from collections import Counter
from collections.abc import Iterable
from enum import StrEnum
from typing import Annotated, Final

from pydantic import Field, model_validator

from ticketbridge.model.substrate import FromOutside


class CsvField(StrEnum):
    """What a column can hold: the names of a ticket's values."""

    JOB_ID = "job_id"
    JOB_PART_ID = "job_part_id"
    DESCRIPTIVE_NAME = "descriptive_name"
    CUSTOMER_ID = "customer_id"
    CUSTOMER_ORDER_ID = "customer_order_id"
    CUSTOMER_NAME = "customer_name"
    DUE = "due"
    PRIORITY = "priority"
    QUANTITY = "quantity"
    FINISHED_WIDTH_MM = "finished_width_mm"
    FINISHED_HEIGHT_MM = "finished_height_mm"
    BLEED_MM = "bleed_mm"
    STOCK_BRAND = "stock_brand"
    STOCK_TYPE = "stock_type"
    MEDIA_TYPE = "media_type"
    MEDIA_TYPE_DETAILS = "media_type_details"
    OPACITY = "opacity"
    THICKNESS_UM = "thickness_um"
    WEIGHT_G_M2 = "weight_g_m2"
    PRINT_PREFERENCE = "print_preference"
    LAYER_STACK = "layer_stack"
    MAY_ROTATE = "may_rotate"
    ARTWORK_URL = "artwork_url"
    ARTWORK_PAGE = "artwork_page"


OF_THE_ORDER: Final = frozenset(
    {
        CsvField.JOB_ID,
        CsvField.CUSTOMER_ID,
        CsvField.CUSTOMER_ORDER_ID,
        CsvField.CUSTOMER_NAME,
        CsvField.DUE,
        CsvField.PRIORITY,
    }
)
"""Values that all lines of one order share; the others belong to the line's item."""

LENGTHS: Final = frozenset({CsvField.FINISHED_WIDTH_MM, CsvField.FINISHED_HEIGHT_MM, CsvField.BLEED_MM})
"""Values that a unit goes with."""

NEEDED: Final = (
    CsvField.JOB_ID,
    CsvField.QUANTITY,
    CsvField.FINISHED_WIDTH_MM,
    CsvField.FINISHED_HEIGHT_MM,
    CsvField.ARTWORK_URL,
)
"""Values that no order can be made without."""


class LengthUnit(StrEnum):
    """What a length is counted in."""

    MM = "mm"
    CM = "cm"
    INCH = "in"
    POINT = "pt"
    FOOT = "ft"


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


class CsvEncoding(StrEnum):
    """How letters are written as bytes. A byte order mark before UTF-8 is taken off with either name."""

    UTF_8 = "utf-8"
    UTF_8_SIG = "utf-8-sig"
    WINDOWS_1252 = "windows-1252"


class CsvColumn(FromOutside):
    """One column that is read; columns that no row names are left alone."""

    heading: Annotated[str, Field(min_length=1, max_length=200)]
    """As the first line of the file has it; capitals and blanks around it do not matter."""
    field: CsvField
    """The value that it holds."""
    unit: LengthUnit | None = None
    """Of a length; millimetres when it is left out."""

    @model_validator(mode="after")
    def _unit_goes_with_a_length(self) -> "CsvColumn":
        if self.unit is not None and self.field not in LENGTHS:
            raise ValueError(f"{self.field} is no length, so no unit of length goes with it")
        return self


class CsvTable(FromOutside):
    """Order lines as CSV. Lines with the same job_id are items of one order."""

    separator: Separator = Separator.COMMA
    """What stands between two cells."""
    decimal_sign: DecimalSign = DecimalSign.POINT
    """What stands before decimals. Signs between thousands are refused: they make two readings possible."""
    date_format: DateFormat = DateFormat.YEAR_FIRST
    """How dates are written, each perhaps with a time such as 17:30 after it, in the shop's time zone. A date
    alone means the end of that day."""
    encoding: CsvEncoding = CsvEncoding.UTF_8
    """How letters are written as bytes."""
    columns: tuple[CsvColumn, ...] = Field(min_length=1)
    """Which heading holds which value. job_id, quantity, finished_width_mm, finished_height_mm and artwork_url
    must be among them."""

    @model_validator(mode="after")
    def _columns_agree(self) -> "CsvTable":
        if self.separator.sign == self.decimal_sign.sign:
            raise ValueError("a comma cannot both separate cells and stand before decimals")
        missing = [field.value for field in NEEDED if field not in self.fields()]
        if missing:
            raise ValueError(f"no column holds {', '.join(missing)}, and no order can be made without")
        twice = [*_twice(self.fields()), *_twice(folded(column.heading) for column in self.columns)]
        if twice:
            raise ValueError(f"{', '.join(twice)} is given in two rows")
        return self

    def fields(self) -> list[CsvField]:
        """What the columns hold."""
        return [column.field for column in self.columns]


def folded(heading: str) -> str:
    """A heading as it is compared."""
    return " ".join(heading.split()).casefold()


def _twice(names: Iterable[str]) -> list[str]:
    return [str(name) for name, count in Counter(names).items() if count > 1]
