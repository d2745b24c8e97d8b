"""PURE: the rules of a lane, one small function each, and the table of them.

A rule looks at one question and gives one verdict. Codes and numbers only: the sentences stand in
``model/codes/lanes.py``. To add a rule, write the function in the module of its kind, its rows there, and
its row here.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from ticketbridge.decide.rules import material, neighbours, space, time_and_people
from ticketbridge.decide.rules.question import LaneQuestion, Neighbour
from ticketbridge.model.verdict import LaneVerdict, Verdict

__all__ = ["RULES", "LaneQuestion", "Neighbour", "Rule", "judge"]


@dataclass(frozen=True, slots=True)
class Rule:
    """A row of the rule table.

    Attributes:
        name: As verdicts name it.
        question: What it asks, in words for people.
        ask: The function that answers.
    """

    name: str
    question: str
    ask: Callable[[LaneQuestion], Verdict]


RULES: Final = (
    Rule(
        "substrate known", "Is it in the catalogue, and allowed in this print mode?", material.substrate_known
    ),
    Rule("roll-fed", "Is it flexible and on a roll? Rigid board is refused.", material.roll_fed),
    Rule(
        "width",
        "Are image and margins within roll, lane and beam? If not: turned, or in panels?",
        space.width,
    ),
    Rule("thickness", "Is it within what passes under the carriage?", material.thickness),
    Rule(
        "layers",
        "Is white or clear asked for, and fitted? Clear, window or metallised film without white is warned of "
        "or refused.",
        material.layers,
    ),
    Rule("ink left", "Is enough left of every ink whose account is kept?", material.ink_left),
    Rule(
        "mesh",
        "Does ink go through it, and is the ink-catching underlay in place and able to serve this lane?",
        material.mesh,
    ),
    Rule(
        "length left",
        "Is enough on the loaded roll, leader and trailer included, or is there another roll that has it?",
        space.length_left,
    ),
    Rule(
        "side by side",
        "Does it agree with what runs beside it: mode, layers, thickness, widths, underlay? Is its span free?",
        neighbours.side_by_side,
    ),
    Rule(
        "shaft",
        "Where the rolls turn on a common shaft, are their diameters nearly equal?",
        neighbours.shaft,
    ),
    Rule(
        "print mode",
        "Does the lane print in this mode and these layers now, or is there a change to make?",
        time_and_people.print_mode,
    ),
    Rule("due", "Can it still make its time there?", time_and_people.due),
    Rule("crew", "Is anyone trained on this press on shift? A warning, never a stop.", time_and_people.crew),
)
"""Every rule, in the order in which they are asked and shown."""


def judge(question: LaneQuestion) -> LaneVerdict:
    """All rules' answers for one lane. The hour is judged last but one, knowing what the changes take."""
    verdicts: list[Verdict] = []
    for rule in RULES:
        if rule.ask is time_and_people.due and question.due is not None:
            question = replace(question, change_minutes=sum(verdict.minutes for verdict in verdicts))
        verdicts.append(rule.ask(question))
    return LaneVerdict(question.lane.device_id, tuple(verdicts))
