"""Verdicts: what a rule says of a job on a lane. Codes and numbers; sentences are made when shown."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, NamedTuple

from ticketbridge.model.finding import Finding, type_of_fact


class Answer(IntEnum):
    """The four answers, best first. Only NEVER on every lane refuses a job."""

    CAN = 0
    AFTER_CHANGE = 1
    NOT_UNTIL = 2
    NEVER = 3


ANSWER_WORDS: Mapping[Answer, str] = {
    Answer.CAN: "can",
    Answer.AFTER_CHANGE: "after a change",
    Answer.NOT_UNTIL: "not until",
    Answer.NEVER: "never",
}


class Verdict(NamedTuple):
    """One rule's answer. Every ticket gets dozens, and the store keeps them as they are: a list of plain values.

    Attributes:
        rule: Name of the rule, as in the rule table.
        answer: One of the four.
        code: Row of the table of findings that has its sentence.
        facts: The numbers and names in the sentence.
        minutes: What the change takes, with AFTER_CHANGE.
    """

    rule: str
    answer: Answer
    code: str
    facts: Mapping[str, type_of_fact]
    minutes: float = 0

    def as_finding(self) -> Finding:
        """The same as a finding, so that one function makes all sentences."""
        return Finding(self.code, facts=self.facts)

    @classmethod
    def from_json(cls, data: list[Any]) -> "Verdict":
        """From the list that the store keeps."""
        rule, answer, code, facts, minutes = data
        return cls(rule, Answer(answer), code, facts, minutes)


@dataclass(frozen=True, slots=True)
class LaneVerdict:
    """All rules' answers for one lane; the worst of them counts."""

    device_id: str
    verdicts: tuple[Verdict, ...]

    @property
    def answer(self) -> Answer:
        """The worst answer of all rules."""
        return max((v.answer for v in self.verdicts), default=Answer.CAN)

    @property
    def minutes(self) -> float:
        """Changes that must be made first, together."""
        return sum(v.minutes for v in self.verdicts)

    @property
    def reasons(self) -> tuple[Verdict, ...]:
        """The verdicts that are not simply CAN, worst first."""
        return tuple(
            sorted((v for v in self.verdicts if v.answer is not Answer.CAN), key=lambda v: -v.answer)
        )
