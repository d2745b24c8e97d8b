"""When people are at a press, as seconds from now: the shifts of those trained on it, by the shop's clock."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta, tzinfo
from typing import Final

from ticketbridge.model.shift import Shift, Weekday

DAYS_AHEAD: Final = 28
"""Further than this no plan looks; later work is planned as if somebody were always there."""


def windows_s(
    shifts: Sequence[Shift], crew: Sequence[str], now: datetime, zone: tzinfo
) -> tuple[tuple[float, float], ...]:
    """(from, until) in seconds from now, rising, none overlapping; empty where nobody keeps a list of shifts.

    A shift counts where one of its people is trained on the press; where the press names no crew, every shift
    does. Wall-clock times are taken in the shop's zone day by day, so an hour that is missing or double at a
    change of the clock makes that day's window shorter or longer and shifts no other.
    """
    counting = [shift for shift in shifts if not crew or not set(crew).isdisjoint(shift.people)]
    found = []
    today = now.astimezone(zone).date()
    for ahead in range(-1, DAYS_AHEAD):
        day = today + timedelta(days=ahead)
        for shift in counting:
            if tuple(Weekday)[day.weekday()] not in shift.days:
                continue
            begins, ends = time.fromisoformat(shift.begins), time.fromisoformat(shift.ends)
            last_day = day if ends > begins else day + timedelta(days=1)
            opens = datetime.combine(day, begins, zone)
            closes = datetime.combine(last_day, ends, zone)
            found.append(((opens - now).total_seconds(), (closes - now).total_seconds()))
    merged: list[tuple[float, float]] = []
    for opens_s, closes_s in sorted(one for one in found if one[1] > 0):
        if merged and opens_s <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], closes_s))
        else:
            merged.append((opens_s, closes_s))
    return tuple(merged)
