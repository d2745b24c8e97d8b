"""Reading spans: what was agreed, else what is wished, else what is acceptable."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import isfinite, isnan
from typing import Final

from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf


class Unreadable(ValueError):
    """A text is not of the form that its place asks for.

    Attributes:
        allowed: The form, in words.
    """

    def __init__(self, allowed: str) -> None:
        super().__init__(allowed)
        self.allowed = allowed


@dataclass(frozen=True, slots=True)
class Said:
    """A text in a ticket and where it stands: in an attribute, or as the text of an element."""

    raw: str
    element: Element
    attribute: str | None = None

    @property
    def is_range(self) -> bool:
        """Whether only what is acceptable was given."""
        return self.attribute == "Range"


def said(span: Element) -> Said | None:
    """``Actual``, else ``Preferred``, else ``Range``; the range of a StringSpan is an element."""
    for attribute in ("Actual", "Preferred", "Range"):
        raw = span.get(attribute)
        if raw is not None:
            return Said(raw, span, attribute)
    text = span.find(jdf("Range"))
    return None if text is None else Said(text.text or "", text)


Ends = tuple[tuple[float, ...], tuple[float, ...]]
"""Lower and upper end of a range, each of one number, a pair or a shape."""

_FORMS: Final = {
    1: "a number, or a range such as 450 ~ 560",
    2: "two numbers",
    3: "three numbers",
    4: "four numbers",
}


def ends(raw: str, width: int) -> Ends:
    """The first value or range in a text; a single value is a range with equal ends.

    Args:
        raw: Numbers with spaces between them, a range with ``~`` between its ends.
        width: Numbers in one value: 1, 2 for a pair, 3 for a shape, 4 for a box.

    Raises:
        Unreadable: It is neither.
    """
    words = raw.split()
    low = _numbers(words[:width], width)
    is_range = words[width : width + 1] == ["~"]
    high = _numbers(words[width + 1 : 2 * width + 1], width) if is_range else low
    if not all(isfinite(one) or isfinite(other) for one, other in zip(low, high, strict=True)):
        raise Unreadable(_FORMS[width])
    return low, high


def middle(of: Ends) -> tuple[float, ...]:
    """The wish where only a range was given: its middle; its closed end where the other one is open."""
    return tuple(
        (low + high) / 2 if isfinite(low + high) else (low if isfinite(low) else high)
        for low, high in zip(*of, strict=True)
    )


def _numbers(words: list[str], width: int) -> tuple[float, ...]:
    try:
        numbers = tuple(float(word) for word in words)
    except ValueError:
        numbers = ()
    if len(numbers) != width or any(isnan(number) for number in numbers):
        raise Unreadable(_FORMS[width])
    return numbers


def moment_of(raw: str) -> datetime | None:
    """A date and time, or None for INF. The later end of a range; UTC where no zone is given.

    24:00 is midnight at the end of its day (XML Schema, part 2, section 3.2.7).

    Raises:
        Unreadable: It is not a time, or one that no calendar of ours reaches.
    """
    for word in reversed(raw.split()):
        if word not in ("~", "INF", "-INF"):
            return _moment(word)
    return None


def _moment(word: str) -> datetime:
    day, _, clock = word.partition("T")
    late = clock.startswith("24:00:00")
    try:
        moment = datetime.fromisoformat(f"{day}T{clock.replace('24:', '00:', 1) if late else clock}")
        moment += timedelta(days=1 if late else 0)
        return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    except (ValueError, OverflowError) as error:
        raise Unreadable("a date and time such as 2026-03-09T12:00:00+01:00") from error
