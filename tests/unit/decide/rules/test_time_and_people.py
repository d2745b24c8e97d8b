"""Rules about the print mode set, the hour and the people."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from ticketbridge.decide.rules import LaneQuestion
from ticketbridge.decide.rules.time_and_people import crew, due, print_mode
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.lane_state import RunningWork
from ticketbridge.model.substrate import LayerStack
from ticketbridge.model.verdict import Answer, Verdict

Ask = Callable[..., LaneQuestion]


def spoken(verdict: Verdict) -> tuple[Answer, str]:
    """Answer and code; on the way it is seen that the facts fill the sentence and the remedy."""
    assert sentence(verdict.as_finding())
    assert remedy(verdict.as_finding())
    return verdict.answer, verdict.code


def test_on_an_idle_lane_the_mode_is_set_with_the_job(ask: Ask) -> None:
    assert spoken(print_mode(ask())) == (Answer.CAN, "lanes.mode-idle-ok")


def test_the_mode_that_runs_needs_no_change(ask: Ask) -> None:
    running = RunningWork("swift", LayerStack.COLOUR, "banner-510")
    assert spoken(print_mode(ask(running=running))) == (Answer.CAN, "lanes.mode-ok")


@pytest.mark.parametrize(
    "running",
    [
        RunningWork("fine", LayerStack.COLOUR, "banner-510"),
        RunningWork("swift", LayerStack.WHITE_COLOUR, "banner-510"),
    ],
)
def test_another_mode_or_other_layers_are_a_change_with_its_minutes(ask: Ask, running: RunningWork) -> None:
    verdict = print_mode(ask(running=running))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.mode-change")
    assert verdict.minutes == 4


def test_a_job_without_a_due_time_is_never_late(ask: Ask) -> None:
    assert spoken(due(ask())) == (Answer.CAN, "lanes.due-open-ok")


def _due_in(ask: Ask, minutes: float, **changes: object) -> Verdict:
    question = ask()
    return due(ask(due=question.now + timedelta(minutes=minutes), **changes))


def test_queue_change_and_print_all_count_toward_the_due_time(ask: Ask) -> None:
    # 3530 + 54 mm at 13.5 mm are 266 steps of (1520 + 600) / 1000 + 0.3 s.
    printing = 266 * 2.42 / 60
    verdict = _due_in(ask, 60, minutes_ahead=20, change_minutes=10)
    assert spoken(verdict) == (Answer.CAN, "lanes.due-ok")
    assert verdict.facts["spare_minutes"] == pytest.approx(60 - 20 - 10 - printing)


def test_a_late_job_is_told_how_late(ask: Ask) -> None:
    verdict = _due_in(ask, 20, minutes_ahead=20)
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.due-late")
    assert verdict.facts["late_minutes"] == pytest.approx(266 * 2.42 / 60)
    assert verdict.facts["due"] == "2026-03-02 12:20+00:00"


def test_the_hour_waits_for_an_estimate(ask: Ask) -> None:
    assert spoken(_due_in(ask, 20, estimate=None)) == (Answer.NOT_UNTIL, "lanes.layout-needed")


def test_a_lane_busy_for_a_thousand_years_is_late_and_breaks_nothing(ask: Ask) -> None:
    assert _due_in(ask, 20, minutes_ahead=1e12).code == "lanes.due-late"


@pytest.mark.parametrize(
    ("on_shift", "people", "code"),
    [
        (True, ["Ines", "Jonah"], "lanes.crew-ok"),
        (True, ["Ines"], "lanes.crew-thin"),
        (False, ["Ines", "Jonah"], "lanes.crew-absent"),
        (None, ["Ines", "Jonah"], "lanes.crew-unknown"),
    ],
)
def test_the_crew_is_only_ever_a_warning(
    ask: Ask, on_shift: bool | None, people: list[str], code: str
) -> None:
    verdict = crew(ask(crew_on_shift=on_shift, settings={"presses.tern.crew": people}))
    assert spoken(verdict) == (Answer.CAN, code)
