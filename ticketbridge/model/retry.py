"""When to try a message again, and when to give up: pure functions of ages. The whole policy is here.

Next wait = the time that the outage has lasted, clamped (the mail world's rule): a short one is ridden out
quickly, a long one is not hammered. Giving up goes by days, never by counts, so that an outage cannot use
tries up.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from ticketbridge.model.exchange import WHAT_NEXT, Next, Outcome

SHORTEST_S: Final = 1.0
LONGEST_S: Final = 600.0


class ChannelMode(StrEnum):
    """``Subscription@ChannelMode``."""

    RELIABLE = "Reliable"
    """Repeated until a Response says that it arrived; later ones wait their turn."""
    FIRE_AND_FORGET = "FireAndForget"
    """Sent once."""


class RetryPolicy(StrEnum):
    """``Subscription@RetryPolicy`` of a Reliable channel."""

    DISCARD_AT_NEXT_SIGNAL = "DiscardAtNextSignal"
    """A message that was not received is dropped as soon as a newer one is there."""
    RETRY_FOREVER = "RetryForever"
    """Never given up for its age."""


@dataclass(frozen=True, slots=True)
class ChannelRules:
    """What a subscriber asked for, and how long we are patient.

    Attributes:
        mode: Whether messages are repeated at all.
        retry: What the subscriber said of old ones; None: they are given up by ``give_up_days``.
        give_up_days: So long a message is tried.
    """

    mode: ChannelMode = ChannelMode.RELIABLE
    retry: RetryPolicy | None = None
    give_up_days: float = 5


def next_after(outcome: Outcome, age_s: float, rules: ChannelRules, *, newer_waits: bool) -> Next:
    """What becomes of a message after one try.

    Args:
        outcome: How the exchange ended.
        age_s: Seconds since the message was made.
        rules: The subscriber's.
        newer_waits: Whether a newer message for this subscriber is there.
    """
    step = WHAT_NEXT[outcome]
    if step is Next.GO_ON:
        return step
    if rules.mode is ChannelMode.FIRE_AND_FORGET:
        return Next.DROP
    if rules.retry is RetryPolicy.DISCARD_AT_NEXT_SIGNAL and newer_waits:
        return Next.DROP
    if step is Next.AGAIN and rules.retry is not RetryPolicy.RETRY_FOREVER:
        return Next.DEAD_LETTER if given_up(age_s, rules.give_up_days) else step
    return step


def wait_s(outage_s: float) -> float:
    """Seconds until the next try of a subscriber that has not received anything for that long."""
    return min(max(outage_s, SHORTEST_S), LONGEST_S)


def given_up(age_s: float, give_up_days: float) -> bool:
    """Whether a message is so old that a person must decide."""
    return age_s > give_up_days * 86_400
