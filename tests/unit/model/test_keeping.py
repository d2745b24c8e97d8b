"""When something may go into an archive: after its month and the days that it stays, and never while it is needed."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.model.job_states import TRANSITIONS, State, Step
from ticketbridge.model.keeping import Keeping, Kind, month_of
from ticketbridge.model.told_state import states_told

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
THIRTY = Keeping(tickets_days=30)


@pytest.mark.parametrize(
    ("needed_until", "goes"),
    [
        (datetime(2026, 9, 30, 23, 59, tzinfo=UTC), True),
        (
            datetime(2026, 10, 1, tzinfo=UTC),
            False,
        ),  # thirty days ago it was October, which has not gone as a whole
        (NOW, False),
        (None, False),
    ],
)
def test_a_month_goes_as_a_whole_when_its_last_day_is_old_enough(
    needed_until: datetime | None, goes: bool
) -> None:
    assert THIRTY.may_go(Kind.TICKETS, needed_until, NOW) is goes


def test_without_a_number_everything_stays() -> None:
    kept = Keeping(tickets_days=None)

    assert not kept.may_go(Kind.TICKETS, datetime(1990, 1, 1, tzinfo=UTC), NOW)


def test_nobody_who_says_nothing_loses_anything_of_the_last_three_years() -> None:
    for kind in Kind:
        assert not Keeping().may_go(kind, NOW - timedelta(days=3 * 365), NOW)


@given(
    st.sampled_from(Kind),
    st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)),
    st.floats(0.5, 1e9),
)
def test_nothing_goes_before_its_days_are_over_and_what_may_go_is_of_a_month_that_may(
    kind: Kind, until: datetime, days: float
) -> None:
    kept = Keeping(**{f"{kind.value.replace('-', '_')}_days": days})
    if kept.may_go(kind, until, NOW):
        assert NOW - until > timedelta(days=days)
        begin = until.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
        last = (begin + timedelta(days=32)).replace(day=1) - timedelta(microseconds=1)
        assert month_of(last) == month_of(until)
        assert kept.may_go(kind, last, NOW)


@given(st.lists(st.sampled_from(Step), max_size=12))
def test_the_state_that_is_told_is_the_one_that_the_law_leads_to(steps: list[Step]) -> None:
    state, done = State.WAITING, []
    for step in steps:
        if (state, step) in TRANSITIONS:
            state = TRANSITIONS[state, step]
            done.append(step.value)

    assert state in states_told(["accepted", *done, "roll used"])


def test_a_history_that_cannot_be_tells_no_state() -> None:
    assert states_told(["accepted", "returned"]) == frozenset()
    assert states_told(["accepted", "hold"]) == {State.HELD}
