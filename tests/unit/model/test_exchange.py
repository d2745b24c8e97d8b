"""What becomes of a message after each kind of answer."""

import pytest

from ticketbridge.model.exchange import (
    NOT_SENT,
    REFUSALS,
    WHAT_NEXT,
    Next,
    Outcome,
    outcome_of_code,
    outcome_of_status,
)
from ticketbridge.model.retry import ChannelMode, ChannelRules, RetryPolicy, next_after, wait_s

HOUR_S, DAY_S = 3_600, 86_400
NOT_RECEIVED = [outcome for outcome in Outcome if outcome is not Outcome.RECEIVED]


def test_every_outcome_has_its_row() -> None:
    assert set(WHAT_NEXT) == set(Outcome)


def test_what_only_the_message_can_mend_is_a_dead_letter_at_once_and_everything_else_is_tried_again() -> None:
    dead = {outcome for outcome, step in WHAT_NEXT.items() if step is Next.DEAD_LETTER}

    assert dead == {Outcome.BODY_REFUSED, Outcome.NEVER}


@pytest.mark.parametrize("outcome", [Outcome.TIMED_OUT, Outcome.CUT_OFF, Outcome.BUSY, Outcome.NO_JMF])
def test_after_an_answer_that_was_lost_the_other_side_may_have_done_it(outcome: Outcome) -> None:
    assert outcome not in NOT_SENT | REFUSALS


@pytest.mark.parametrize("outcome", NOT_RECEIVED)
def test_a_channel_that_forgets_is_never_repeated(outcome: Outcome) -> None:
    rules = ChannelRules(ChannelMode.FIRE_AND_FORGET)

    assert next_after(outcome, 0, rules, newer_waits=False) is Next.DROP


@pytest.mark.parametrize("outcome", NOT_RECEIVED)
def test_a_message_is_discarded_at_the_next_signal_where_the_subscriber_asked_for_that(
    outcome: Outcome,
) -> None:
    rules = ChannelRules(retry=RetryPolicy.DISCARD_AT_NEXT_SIGNAL)

    assert next_after(outcome, 0, rules, newer_waits=True) is Next.DROP
    assert next_after(outcome, 0, rules, newer_waits=False) is WHAT_NEXT[outcome]


def test_giving_up_goes_by_days_unless_the_subscriber_wants_it_for_ever() -> None:
    patient, forever = ChannelRules(give_up_days=5), ChannelRules(retry=RetryPolicy.RETRY_FOREVER)

    assert next_after(Outcome.NOT_REACHED, 4.9 * DAY_S, patient, newer_waits=True) is Next.AGAIN
    assert next_after(Outcome.NOT_REACHED, 5.1 * DAY_S, patient, newer_waits=True) is Next.DEAD_LETTER
    assert next_after(Outcome.NOT_REACHED, 400 * DAY_S, forever, newer_waits=True) is Next.AGAIN
    assert next_after(Outcome.NEVER, 0, forever, newer_waits=True) is Next.DEAD_LETTER


def test_a_short_outage_is_ridden_out_quickly_and_a_long_one_is_not_hammered() -> None:
    assert [wait_s(s) for s in (0, 1, 30, HOUR_S, DAY_S)] == [1, 1, 30, 600, 600]


@pytest.mark.parametrize(
    ("status", "outcome"),
    [
        (200, Outcome.RECEIVED),
        (204, Outcome.RECEIVED),
        (301, Outcome.REDIRECTED),
        (400, Outcome.BODY_REFUSED),
        (403, Outcome.NOT_LET_IN),
        (408, Outcome.BUSY),
        (410, Outcome.NOT_THERE),
        (413, Outcome.BODY_REFUSED),
        (503, Outcome.BUSY),
    ],
)
def test_an_http_status_speaks_of_the_way_and_not_of_the_message(status: int, outcome: Outcome) -> None:
    assert outcome_of_status(status) is outcome


@pytest.mark.parametrize(
    ("code", "outcome"),
    [
        (0, Outcome.RECEIVED),
        (12, Outcome.RECEIVED),
        (2, Outcome.LATER),
        (4, Outcome.NEVER),
        (8, Outcome.LATER),
        (112, Outcome.LATER),
        (116, Outcome.NEVER),
        (300, Outcome.LATER),
        (4711, Outcome.LATER),
        (-1, Outcome.LATER),
    ],
)
def test_a_return_code_says_whether_time_may_heal(code: int, outcome: Outcome) -> None:
    assert outcome_of_code(code) is outcome
