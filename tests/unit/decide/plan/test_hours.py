"""The shifts of those trained on a press, as windows from now."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from ticketbridge.decide.plan.hours import windows_s
from ticketbridge.model.shift import Shift, Weekday

LISBON = ZoneInfo("Europe/Lisbon")
HOUR = 3600.0
DAY = Shift(people=("op-03",), days=tuple(Weekday)[:2], begins="07:00", ends="19:00")
MONDAY_NOON = datetime(2026, 11, 23, 12, tzinfo=UTC)


def test_without_shifts_somebody_is_always_there() -> None:
    assert windows_s((), ("op-03",), MONDAY_NOON, LISBON) == ()


def test_the_shift_that_runs_has_begun_and_the_next_one_comes() -> None:
    first, second, third, *_ = windows_s((DAY,), ("op-03", "op-07"), MONDAY_NOON, LISBON)

    assert first == (-5 * HOUR, 7 * HOUR)
    assert second == (19 * HOUR, 31 * HOUR)
    assert third == (7 * 24 * HOUR - 5 * HOUR, 7 * 24 * HOUR + 7 * HOUR)


def test_only_shifts_with_somebody_trained_on_the_press_count() -> None:
    others = Shift(people=("op-99",), days=tuple(Weekday), begins="00:00", ends="23:00")

    assert windows_s((DAY, others), ("op-03",), MONDAY_NOON, LISBON)[0] == (-5 * HOUR, 7 * HOUR)
    assert windows_s((DAY, others), (), MONDAY_NOON, LISBON)[0] == (-12 * HOUR, 11 * HOUR)


def test_a_night_shift_ends_the_next_day_and_joins_the_morning() -> None:
    week = tuple(Weekday)
    night = Shift(people=("op-03",), days=week, begins="22:00", ends="06:00")
    morning = Shift(people=("op-07",), days=week, begins="06:00", ends="14:00")
    evening = datetime(2026, 11, 23, 23, tzinfo=UTC)

    first, *_ = windows_s((night, morning), (), evening, LISBON)

    assert first == (-1 * HOUR, 15 * HOUR)


def test_hours_are_of_the_clock_when_it_is_put_back() -> None:
    # In the night to Sunday, 25 October 2026, clocks in Lisbon go back an hour.
    saturday_noon = datetime(2026, 10, 24, 11, tzinfo=UTC)  # 12:00 on the wall
    sundays = Shift(people=("op-03",), days=tuple(Weekday)[6:], begins="07:00", ends="08:00")

    first, *_ = windows_s((sundays,), (), saturday_noon, LISBON)

    assert first == (20 * HOUR, 21 * HOUR)  # 07:00 on the wall is 07:00 UTC by then
