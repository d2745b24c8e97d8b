"""When people are at a press, as seconds from now: the shop's weekly hours on the clock of its zone."""

from collections.abc import Sequence
from datetime import datetime, timedelta, tzinfo
from typing import Final

from ticketbridge.model.press import Hours

DAYS_AHEAD: Final = 28
"""Further than this no plan looks; later work is planned as if somebody were always there."""


def windows_s(hours: Sequence[Hours], now: datetime, zone: tzinfo) -> tuple[tuple[float, float], ...]:
    """(from, until) in seconds from now, rising, none overlapping; empty where no hours are kept.

    Wall-clock times are taken in the shop's zone day by day, so an hour that is missing or double at a
    change of the clock makes that day's window shorter or longer and shifts no other.
    """
    found = []
    today = now.astimezone(zone).date()
    for ahead in range(-1, DAYS_AHEAD):
        day = today + timedelta(days=ahead)
        for row in hours:
            if row.days and day.weekday() not in {weekday.number for weekday in row.days}:
                continue
            last_day = (
                day if row.until > row.start else day + timedelta(days=1)
            )  # a night shift ends tomorrow
            opens = datetime.combine(day, row.start, zone)
            closes = datetime.combine(last_day, row.until, zone)
            found.append(((opens - now).total_seconds(), (closes - now).total_seconds()))
    merged: list[tuple[float, float]] = []
    for opens_s, closes_s in sorted(one for one in found if one[1] > 0):
        if merged and opens_s <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], closes_s))
        else:
            merged.append((opens_s, closes_s))
    return tuple(merged)
