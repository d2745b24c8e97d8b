"""What artwork that comes alone means: the words that a ticket would have said, and what its file name says."""

import re
from typing import Annotated, Final

from pydantic import Field, field_validator, model_validator

from ticketbridge.model.substrate import FromOutside, LayerStack, NotNegative

NAME_LENGTH: Final = 100
"""Longer file names are refused unread."""
MOST_OPEN_REPEATS: Final = 5
"""Places in a pattern that take any number of letters. The time to match grows with the name's length to this
power at worst, and a file name is anybody's choice."""

GROUPS: Final = (
    "job_id",
    "quantity",
    "priority",
    "descriptive_name",
    "customer_id",
    "customer_order_id",
    "customer_name",
    "stock_brand",
    "print_preference",
)
"""What a file name can say."""

_GROUP_BEGINS: Final = re.compile(r"\(\?P<\w+>|\(\?:|\((?!\?)")
_REPEAT: Final = re.compile(r"[*+]|\{(\d*)(,?)(\d*)\}")
_MANY: Final = 20
"""A repeat with a smaller upper end is not counted as open."""


class StandingTicket(FromOutside):
    """Makes an order of every PDF that is dropped alone; each page is an item of the size of its TrimBox."""

    name_pattern: str | None = None
    """Regular expression that the whole file name must match, with named groups such as (?P<job_id>[^_]+); the
    groups may be job_id, quantity, priority, descriptive_name, customer_id, customer_order_id, customer_name,
    stock_brand and print_preference. Groups must not be repeated. Left out, the name without its ending is the
    job_id."""
    stock_brand: str | None = None
    """As a ticket would say it: MediaIntent/StockBrand."""
    stock_type: str | None = None
    """MediaIntent/StockType."""
    media_type: str | None = None
    """MediaIntent/MediaType."""
    media_type_details: str | None = None
    """MediaIntent/MediaTypeDetails."""
    opacity: str | None = None
    """MediaIntent/Opacity."""
    print_preference: str | None = None
    """ProductionIntent/PrintPreference: Balanced, CostEffective, Fastest or HighestQuality."""
    layer_stack: LayerStack | None = None
    """Which layers, where not colour alone."""
    quantity: Annotated[int, Field(ge=1, le=10_000)] = 1
    """Pieces of each page, where the file name does not say."""
    due_days: Annotated[int, Field(ge=0, le=365)] | None = None
    """Due at the end of the day so many days after it was taken; left out, it is not due."""
    bleed_mm: NotNegative | None = None
    """Bleed on all sides. Left out, what the file's BleedBox gives: the smallest of its four sides."""

    @field_validator("name_pattern")
    @classmethod
    def _pattern_is_safe(cls, pattern: str | None) -> str | None:
        if pattern is not None:
            check_pattern(pattern)
        return pattern

    @model_validator(mode="after")
    def _says_a_substrate(self) -> "StandingTicket":
        words = (self.stock_brand, self.stock_type, self.media_type, self.media_type_details)
        if not any(words) and "(?P<stock_brand>" not in (self.name_pattern or ""):
            raise ValueError("neither the standing ticket nor the file name says a substrate")
        return self


def check_pattern(pattern: str) -> None:
    """Prove that a pattern can be used on names that strangers choose.

    Refused are repeated groups, because a repeat inside a repeat can take a time that doubles with each letter
    (CWE-1333), whatever looks around or back, and more than a few open repeats.

    Raises:
        ValueError: It cannot; the text says why.
    """
    try:
        groups = re.compile(pattern).groupindex
    except re.error as error:
        raise ValueError(f"it is no regular expression: {error}") from error
    strangers = sorted(set(groups) - set(GROUPS))
    if strangers:
        raise ValueError(f"it has a group {strangers[0]}; allowed are {', '.join(GROUPS)}")
    if "job_id" not in groups:
        raise ValueError("it has no group job_id, so nothing would name the job")
    _check_repeats(pattern)


def _check_repeats(pattern: str) -> None:
    place, open_repeats = 0, 0
    while place < len(pattern):
        letter = pattern[place]
        if letter == "\\":
            if pattern[place + 1 : place + 2].isdigit():
                raise ValueError("it refers back to an earlier group")
            place += 2
        elif letter == "[":
            place = _after_class(pattern, place)
        elif letter == "(":
            begins = _GROUP_BEGINS.match(pattern, place)
            if begins is None:
                raise ValueError(
                    "it looks around or back, or sets flags; groups may be (...), (?:...), (?P<name>...)"
                )
            place = begins.end()
        elif (repeat := _REPEAT.match(pattern, place)) is not None:
            if pattern[place - 1 : place] == ")":
                raise ValueError("it repeats a group, which can take for ever on some names")
            open_repeats += _is_open(repeat)
            place = repeat.end()
        else:
            place += 1
    if open_repeats > MOST_OPEN_REPEATS:
        raise ValueError(
            f"more than {MOST_OPEN_REPEATS} places in it take any number of letters; give some an end"
        )


def _after_class(pattern: str, place: int) -> int:
    """Behind the bracket that closes a class of letters; one that comes first in it is a letter."""
    place += 2 if pattern[place + 1 : place + 2] == "^" else 1
    place += pattern[place : place + 1] == "]"
    while pattern[place] != "]":
        place += 2 if pattern[place] == "\\" else 1
    return place + 1


def _is_open(repeat: re.Match[str]) -> bool:
    if repeat[0] in "*+":
        return True
    upper = repeat[3] if repeat[2] else repeat[1]
    return not upper or int(upper) > _MANY
