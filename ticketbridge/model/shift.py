"""Who is on shift when, as a shop with a fixed plan of shifts has it."""

from datetime import datetime, time, timedelta
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from ticketbridge.model.substrate import FromOutside

Clock = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
"""A time of the day, such as 06:00, by the shop's own time zone."""


class Weekday(StrEnum):
    """In the order of ``datetime.weekday``."""

    MONDAY = "Monday"
    TUESDAY = "Tuesday"
    WEDNESDAY = "Wednesday"
    THURSDAY = "Thursday"
    FRIDAY = "Friday"
    SATURDAY = "Saturday"
    SUNDAY = "Sunday"


class Shift(FromOutside):
    """One shift: who, on which days, from when to when."""

    people: tuple[str, ...]
    """Names as in the crew of a press; role names will do."""
    days: tuple[Weekday, ...] = tuple(Weekday)[:5]
    """Days that it begins on."""
    begins: Clock
    """In quotes, by the shop's time zone."""
    ends: Clock
    """The same; a shift that ends before it begins goes through midnight."""

    def runs_at(self, local: datetime) -> bool:
        """Whether it runs at a time of the shop's own zone; its end is no part of it."""
        begins, ends = time.fromisoformat(self.begins), time.fromisoformat(self.ends)
        now = local.time()
        if begins < ends:
            return self._is_day(local) and begins <= now < ends
        began_today = self._is_day(local) and now >= begins
        return began_today or (self._is_day(local - timedelta(days=1)) and now < ends)

    def _is_day(self, local: datetime) -> bool:
        return tuple(Weekday)[local.weekday()] in self.days
