"""Times and ink of a returned ticket; the sample ticket of the shared material is read too."""

from datetime import datetime
from pathlib import Path

import pytest
from lxml import etree

from ticketbridge.hand_over.read_actuals import read_took
from ticketbridge.jdf.writing import child, jdf_root


def ticket(*phases: tuple[str, str, str]) -> etree._Element:
    root = jdf_root("JDF", ID="n1")
    pool = child(root, "AuditPool")
    for status, start, end in phases:
        child(pool, "PhaseTime", Status=status, Start=start, End=end)
    return root


def test_only_the_time_in_progress_counts() -> None:
    took = read_took(
        ticket(
            ("Setup", "2026-03-03T07:00:00+01:00", "2026-03-03T07:10:00+01:00"),
            ("InProgress", "2026-03-03T07:10:00+01:00", "2026-03-03T07:20:00+01:00"),
            ("Stopped", "2026-03-03T07:20:00+01:00", "2026-03-03T07:30:00+01:00"),
            ("InProgress", "2026-03-03T07:30:00+01:00", "2026-03-03T07:35:00+01:00"),
        )
    )

    assert sum((end - start).total_seconds() for start, end in took.printing) == 15 * 60
    assert took.ink_ml is None


def test_times_that_are_none_are_left_out() -> None:
    took = read_took(
        ticket(
            ("InProgress", "soon", "2026-03-03T07:20:00+01:00"),
            ("InProgress", "2026-03-03T07:20:00", "2026-03-03T07:30:00"),
            ("InProgress", "2026-03-03T07:30:00+01:00", "2026-03-03T07:20:00+01:00"),
        )
    )

    assert took.printing == ()


def test_ink_of_all_separations_is_added_up_from_litres() -> None:
    root = ticket()
    pool = child(child(child(root, "ResourceLinkPool"), "InkLink", Usage="Input"), "AmountPool")
    for separation, litres in (("Cyan", "0.012"), ("Black", "0.0305")):
        child(child(pool, "PartAmount", ActualAmount=litres), "Part", Separation=separation)

    assert read_took(root).ink_ml == pytest.approx(42.5)


def test_the_sample_of_a_returned_ticket_says_when_it_printed(shared: Path) -> None:
    sample = etree.parse(shared / "standards" / "examples" / "04-ticket-returned.jdf").getroot()

    printing = read_took(sample).printing

    assert printing[0][0] == datetime.fromisoformat("2026-03-03T07:14:30+01:00")
    assert sum((end - start).total_seconds() for start, end in printing) == (33.5 + 50.75) * 60
