"""The shop's weekly hours as windows from now."""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

from ticketbridge.decide.plan.hours import windows_s
from ticketbridge.model.press import Hours, Weekday

LISBON = ZoneInfo("Europe/Lisbon")
HOUR = 3600.0
DAY_SHIFT = Hours(days=(Weekday.MONDAY, Weekday.TUESDAY), start=time(7), until=time(19))


def test_without_hours_somebody_is_always_there() -> None:
    assert windows_s((), datetime(2026, 11, 23, 12, tzinfo=UTC), LISBON) == ()


def test_the_shift_that_runs_has_begun_and_the_next_one_comes() -> None:
    monday_noon = datetime(2026, 11, 23, 12, tzinfo=UTC)

    first, second, third, *_ = windows_s((DAY_SHIFT,), monday_noon, LISBON)

    assert first == (-5 * HOUR, 7 * HOUR)
    assert second == (19 * HOUR, 31 * HOUR)
    assert third == (7 * 24 * HOUR - 5 * HOUR, 7 * 24 * HOUR + 7 * HOUR)


def test_a_night_shift_ends_the_next_day_and_joins_the_morning() -> None:
    night = Hours(start=time(22), until=time(6))
    morning = Hours(start=time(6), until=time(14))
    evening = datetime(2026, 11, 23, 23, tzinfo=UTC)

    first, *_ = windows_s((night, morning), evening, LISBON)

    assert first == (-1 * HOUR, 15 * HOUR)


def test_hours_are_of_the_clock_when_it_is_put_back() -> None:
    # In the night to Sunday, 25 October 2026, clocks in Lisbon go back an hour.
    saturday_noon = datetime(2026, 10, 24, 11, tzinfo=UTC)  # 12:00 on the wall
    sundays = Hours(days=(Weekday.SUNDAY,), start=time(7), until=time(8))

    first, *_ = windows_s((sundays,), saturday_noon, LISBON)

    assert first == (20 * HOUR, 21 * HOUR)  # 07:00 on the wall is 07:00 UTC by then
