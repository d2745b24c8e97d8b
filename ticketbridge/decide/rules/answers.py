"""Short ways to give one of the four answers."""

from ticketbridge.decide.rules.question import LaneQuestion
from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.verdict import Answer, Verdict


def can(rule: str, code: str, /, **facts: type_of_fact) -> Verdict:
    """Nothing stands in the way."""
    return Verdict(rule, Answer.CAN, code, facts)


def after_change(rule: str, code: str, change_minutes: float, /, **facts: type_of_fact) -> Verdict:
    """Somebody changes something first, and it takes so many minutes."""
    return Verdict(rule, Answer.AFTER_CHANGE, code, facts | {"minutes": change_minutes}, change_minutes)


def not_until(rule: str, code: str, /, **facts: type_of_fact) -> Verdict:
    """Something must come or pass first."""
    return Verdict(rule, Answer.NOT_UNTIL, code, facts)


def never(rule: str, code: str, /, **facts: type_of_fact) -> Verdict:
    """Not on this lane, whatever anybody does."""
    return Verdict(rule, Answer.NEVER, code, facts)


def substrate_needed(rule: str, question: LaneQuestion) -> Verdict:
    """The rule cannot speak before the substrate is in the catalogue."""
    return not_until(rule, "lanes.substrate-needed", rule=rule, substrate=question.item.substrate)


def layout_needed(rule: str) -> Verdict:
    """The rule cannot speak without a layout."""
    return not_until(rule, "lanes.layout-needed", rule=rule)
