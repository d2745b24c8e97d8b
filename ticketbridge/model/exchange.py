"""What may come back when a JMF is sent, and what is done next: one table, pure.

An exchange is one POST and its answer. HTTP says whether the answer can be read, the ReturnCode what it says;
both end in one ``Outcome`` here, and ``WHAT_NEXT`` is the whole policy. Ages and waits are in ``model.retry``.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Outcome(StrEnum):
    """How one exchange ended."""

    RECEIVED = "received"
    NOT_REACHED = "not reached"
    """No connection: nothing was sent."""
    TLS_FAILED = "TLS failed"
    """The other side could not prove who it is, or does not take our certificate: nothing was sent."""
    TIMED_OUT = "no answer in time"
    CUT_OFF = "closed before the answer was whole"
    NO_JMF = "the answer is no JMF"
    REDIRECTED = "redirected"
    NOT_LET_IN = "not let in"
    NOT_THERE = "nobody answers at this address"
    BUSY = "busy or broken"
    BODY_REFUSED = "refused by HTTP"
    LATER = "refused for now"
    """A ReturnCode that time may heal."""
    NEVER = "refused for good"
    """A ReturnCode that the same bytes will always get."""


class Next(StrEnum):
    """What is done after an exchange."""

    GO_ON = "go on"
    AGAIN = "again"
    """The same bytes under the same ID, after a wait; nothing of this subscriber overtakes."""
    DEAD_LETTER = "dead letter"
    """Kept for a person, and the next message goes out."""
    DROP = "drop"
    """Its subscriber asked for no repeats."""


WHAT_NEXT: Final[Mapping[Outcome, Next]] = {
    Outcome.RECEIVED: Next.GO_ON,
    Outcome.NOT_REACHED: Next.AGAIN,
    Outcome.TLS_FAILED: Next.AGAIN,
    Outcome.TIMED_OUT: Next.AGAIN,
    Outcome.CUT_OFF: Next.AGAIN,
    Outcome.NO_JMF: Next.AGAIN,
    Outcome.REDIRECTED: Next.AGAIN,
    Outcome.NOT_LET_IN: Next.AGAIN,
    Outcome.NOT_THERE: Next.AGAIN,
    Outcome.BUSY: Next.AGAIN,
    Outcome.BODY_REFUSED: Next.DEAD_LETTER,
    Outcome.LATER: Next.AGAIN,
    Outcome.NEVER: Next.DEAD_LETTER,
}
"""What can heal without the message changing is tried again: a network, a certificate, a password, an address, a
page of some proxy in place of an answer. A redirect is never followed, because its host was not configured; and
no fault of TLS ever leads to sending without it."""

NOT_SENT: Final = frozenset({Outcome.NOT_REACHED, Outcome.TLS_FAILED})
"""Outcomes after which the other side surely did not do what it was asked, as it never heard of it."""

REFUSALS: Final = frozenset(
    {
        Outcome.REDIRECTED,
        Outcome.NOT_LET_IN,
        Outcome.NOT_THERE,
        Outcome.BODY_REFUSED,
        Outcome.LATER,
        Outcome.NEVER,
    }
)
"""Outcomes in which the other side says that it did not do it. After all others it may have."""

DONE_CODES: Final = frozenset({0, 12})
"""12: done, only the Acknowledge has nowhere to go."""

NEVER_CODES: Final = frozenset(
    {3, 4, 5, 6, 7, 9, 13, 101, 102, 103, 104, 105, 106, 107, 108, 109, 111, 113, 114, 115, 116}
    | {120, 121, 130, 131, 200, 201, 202, 203, 204, 301, 302}
)
"""ReturnCodes (JMF 1.x, the published list) that the same message would get again. The others are taken for passing
troubles: 1 general, 2 internal, 8 device away, 10 busy, 11 later, 100 not running, 110 time, 112 queue closed, the
certificates and passwords from 300 on, and private codes, which nobody here can read."""


def outcome_of_code(return_code: int) -> Outcome:
    """What a Response with that ReturnCode means."""
    if return_code in DONE_CODES:
        return Outcome.RECEIVED
    return Outcome.NEVER if return_code in NEVER_CODES else Outcome.LATER


def outcome_of_status(http_status: int) -> Outcome:
    """What an HTTP status means; only 2xx lets the body speak."""
    if 200 <= http_status < 300:
        return Outcome.RECEIVED
    if 300 <= http_status < 400:
        return Outcome.REDIRECTED
    if http_status in (401, 403, 407, 511):
        return Outcome.NOT_LET_IN
    if http_status in (404, 405, 410, 421):
        return Outcome.NOT_THERE
    if http_status in (408, 423, 425, 429) or http_status >= 500:
        return Outcome.BUSY
    return Outcome.BODY_REFUSED


@dataclass(frozen=True, slots=True)
class Exchange:
    """One exchange with a partner as it is kept for people: both bodies, no credentials.

    Attributes:
        partner: A subscriber's channel, or a press's.
        direction: ``sent`` or ``received``.
        address: Where to, or where from.
        body: What was sent.
        http_status: None where there was no answer.
        answer: What came back.
        outcome: How it ended, in words.
    """

    partner: str
    direction: str
    address: str
    body: str
    http_status: int | None
    answer: str
    outcome: str
