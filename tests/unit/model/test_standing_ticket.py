"""Patterns for file names: what an administrator may write, and what a stranger's name can do to it."""

import re
import time

import pytest

from ticketbridge.model.standing_ticket import NAME_LENGTH, StandingTicket, check_pattern


@pytest.mark.parametrize(
    "pattern",
    [
        r"(?P<job_id>[^_]+)_(?P<quantity>\d+)x_(?P<descriptive_name>.+)\.pdf",
        r"(?P<job_id>HL-\d{5})(?: (?P<quantity>\d{1,4})x)?.*\.(?:pdf|PDF)",
        r"(?P<job_id>[]a-z)(*+]+)\)\+.*",
        r"(?P<job_id>[^]\]]{2,})",
    ],
)
def test_a_plain_pattern_is_taken(pattern: str) -> None:
    check_pattern(pattern)


@pytest.mark.parametrize(
    ("pattern", "why"),
    [
        (r"(?P<job_id>[a-z]+", "no regular expression"),
        (r"[a-z]+\.pdf", "no group job_id"),
        (r"(?P<job_id>\d+)_(?P<colour>\w+)", "a group colour"),
        (r"(?P<job_id>(a+)+)", "repeats a group"),
        (r"(?P<job_id>(?:a|a)*)", "repeats a group"),
        (r"(?P<job_id>(?:a|ab){2,})", "repeats a group"),
        (r"(?P<job_id>\w+)\1", "refers back"),
        (r"(?P<job_id>\w+)(?P=job_id)", "looks around or back"),
        (r"(?=x)(?P<job_id>\w+)", "looks around or back"),
        (r"(?i)(?P<job_id>\w+)", "looks around or back"),
        (r"(?P<job_id>.*).*.*.*.*.*", "more than 5 places"),
    ],
)
def test_a_pattern_that_could_take_for_ever_or_says_nothing_is_refused(pattern: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        check_pattern(pattern)


def test_the_worst_pattern_that_is_taken_is_done_with_the_longest_name_in_time() -> None:
    pattern = r"(?P<job_id>.*).*.*.*.*x"
    check_pattern(pattern)
    began_s = time.monotonic()

    assert re.fullmatch(pattern, "a" * NAME_LENGTH) is None
    assert time.monotonic() - began_s < 10


def test_a_standing_ticket_must_lead_to_a_substrate() -> None:
    with pytest.raises(ValueError, match="says a substrate"):
        StandingTicket(quantity=2)
