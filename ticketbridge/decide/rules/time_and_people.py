"""Rules about the state of the press, the hour and the people: print mode, due, crew."""

from typing import Final

from ticketbridge.decide.rules.answers import after_change, can, layout_needed, not_until
from ticketbridge.decide.rules.question import LaneQuestion
from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.verdict import Verdict

TRAINED_PEOPLE: Final = 2
"""People trained on a press, so that an absence does not stop it (common practice)."""


def print_mode(question: LaneQuestion) -> Verdict:
    """Does the lane print in this mode and these layers now, or is there a change to make?"""
    rule, item, running = "print mode", question.item, question.running
    if running is None:
        return can(rule, "lanes.mode-idle-ok", mode=item.print_mode)
    if (running.print_mode, running.layer_stack) == (item.print_mode, item.layer_stack):
        return can(rule, "lanes.mode-ok", mode=item.print_mode, layers=item.layer_stack.value)
    return after_change(
        rule,
        "lanes.mode-change",
        question.press.changeover_minutes.print_mode,
        mode=item.print_mode,
        layers=item.layer_stack.value,
        running=running.print_mode,
        running_layers=running.layer_stack.value,
    )


def due(question: LaneQuestion) -> Verdict:
    """Can it still make its time there?"""
    rule = "due"
    if question.due is None:
        return can(rule, "lanes.due-open-ok")
    if question.estimate is None:
        return layout_needed(rule)
    minutes = question.minutes_ahead + question.change_minutes + question.estimate.print_s / 60
    spare = (question.due - question.now).total_seconds() / 60 - minutes
    facts: dict[str, type_of_fact] = {
        "due": question.due.isoformat(sep=" ", timespec="minutes"),
        "finished_in_minutes": minutes,
    }
    if spare < 0:
        return not_until(rule, "lanes.due-late", **facts, late_minutes=-spare)
    return can(rule, "lanes.due-ok", **facts, spare_minutes=spare)


def crew(question: LaneQuestion) -> Verdict:
    """Is anyone trained on this press on shift? A warning, never a stop."""
    rule, trained = "crew", question.press.crew
    facts: dict[str, type_of_fact] = {"press": question.press.name, "trained": len(trained)}
    if question.crew_on_shift is None:
        return can(rule, "lanes.crew-unknown", **facts)
    if not question.crew_on_shift:
        return can(rule, "lanes.crew-absent", **facts)
    if len(trained) < TRAINED_PEOPLE:
        return can(rule, "lanes.crew-thin", **facts)
    return can(rule, "lanes.crew-ok", **facts)
