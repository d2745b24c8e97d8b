"""When to try a message again, and when to give up: pure functions of its age. The whole policy is here.

Next wait = the time already spent, clamped (the mail world's rule): a short outage is ridden out quickly, a
long one is not hammered. Giving up goes by days, never by counts, so that an outage cannot use tries up.
"""

from typing import Final

SHORTEST_S: Final = 1.0
LONGEST_S: Final = 600.0


def wait_s(age_s: float) -> float:
    """Seconds until the next try of a message that has been due for that long."""
    return min(max(age_s, SHORTEST_S), LONGEST_S)


def given_up(age_s: float, give_up_days: float) -> bool:
    """Whether a message is so old that a person must decide."""
    return age_s > give_up_days * 86_400
