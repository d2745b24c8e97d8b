"""Rules about room: the width across the roll, and the length left on it."""

from typing import Final

from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.decide.rules.answers import (
    after_change,
    can,
    layout_needed,
    never,
    not_until,
    substrate_needed,
)
from ticketbridge.decide.rules.question import LaneQuestion
from ticketbridge.model.layout import Layout
from ticketbridge.model.substrate import Roll, Substrate
from ticketbridge.model.verdict import Verdict

_MAY_PASS: Final = frozenset({"lanes.no-width-for-lane"})
"""Problems that another roll could solve; the others stay, as every width that the lane takes was tried."""


def width(question: LaneQuestion) -> Verdict:
    """Image plus margins within roll, lane and beam? If not: rotate, panels?"""
    rule, layout = "width", question.layout
    if question.substrate is None:
        return substrate_needed(rule, question)
    if isinstance(layout, LayoutProblem):
        refuse = not_until if layout.code in _MAY_PASS else never
        return refuse(rule, layout.code, **layout.facts)
    facts = {
        "image_mm": layout.image_width_mm,
        "usable_mm": layout.usable_width_mm,
        "roll_mm": layout.roll_width_mm,
        "across": layout.across,
    }
    if layout.panels:
        return can(
            rule,
            "lanes.width-panels",
            panels=len(layout.panels),
            panel_mm=layout.panels[0].width_mm,
            overlap_mm=question.item.panel_overlap_mm,
            usable_mm=layout.usable_width_mm,
        )
    return can(rule, "lanes.width-turned" if layout.rotated else "lanes.width-ok", **facts)


def length_left(question: LaneQuestion) -> Verdict:
    """Enough on the loaded roll, leader and trailer included, or a roll in stock that has it?"""
    rule, at, substrate, layout = "length left", question.roll, question.substrate, question.layout
    if substrate is None:
        return substrate_needed(rule, question)
    if isinstance(layout, LayoutProblem):
        return layout_needed(rule)
    if at is None:
        return not_until(
            rule,
            "lanes.roll-missing",
            substrate=substrate.name,
            width_mm=layout.roll_width_mm,
            needed_m=layout.consumed_length_mm / 1000,
        )
    if at.roll.length_left_m * 1000 + TOLERANCE_MM < layout.consumed_length_mm:
        return _too_short(rule, layout, at.roll, substrate)
    if at.device_id == question.lane.device_id:
        return can(rule, "lanes.length-ok", **_facts(layout, at.roll, substrate))
    return _other_roll(rule, question, layout, at.roll, substrate)


def _facts(layout: Layout, roll: Roll, substrate: Substrate) -> dict[str, str | float]:
    return {
        "substrate": substrate.name,
        "lot": roll.lot,
        "width_mm": roll.width_mm,
        "needed_m": layout.consumed_length_mm / 1000,
        "left_m": roll.length_left_m,
    }


def _too_short(rule: str, layout: Layout, longest: Roll, substrate: Substrate) -> Verdict:
    facts = _facts(layout, longest, substrate)
    if layout.consumed_length_mm > substrate.roll_length_m * 1000:
        return not_until(rule, "lanes.length-beyond-a-roll", **facts, bought_m=substrate.roll_length_m)
    return not_until(rule, "lanes.length-short", **facts)


def _other_roll(
    rule: str, question: LaneQuestion, layout: Layout, roll: Roll, substrate: Substrate
) -> Verdict:
    at, loaded = question.roll, question.loaded
    facts = _facts(layout, roll, substrate)
    facts["where"] = at.device_id if at and at.device_id else "the shelf"
    minutes = question.press.changeover_minutes.roll
    if loaded is None:
        return after_change(rule, "lanes.roll-load", minutes, **facts)
    if loaded.substrate != substrate.id:
        return after_change(rule, "lanes.roll-change", minutes, **facts, loaded=loaded.substrate)
    return after_change(
        rule,
        "lanes.roll-unsuited",
        minutes,
        **facts,
        loaded_lot=loaded.lot,
        loaded_width_mm=loaded.width_mm,
        loaded_m=loaded.length_left_m,
    )
