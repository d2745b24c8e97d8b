"""The table of rules, and the sentences of what they answer."""

import ast
import re
import string
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

import ticketbridge.decide
from ticketbridge.decide.rules import RULES, LaneQuestion, judge
from ticketbridge.model.codes import CODES, lanes, mapping, remedy, sentence
from ticketbridge.model.lane_state import RunningWork
from ticketbridge.model.substrate import LayerStack
from ticketbridge.model.verdict import Answer

DECIDE = Path(ticketbridge.decide.__file__).parent
CODE = re.compile(r"(lanes|mapping)\.[a-z][a-z-]+")


def _codes_written_in(folder: Path) -> Iterator[str]:
    for module in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and CODE.fullmatch(node.value):
                yield node.value


WRITTEN = set(_codes_written_in(DECIDE)) | {"mapping.thickness-differs", "mapping.weight-differs"}
"""The two are put together from the field's name."""


def test_every_code_that_is_written_has_its_row() -> None:
    assert WRITTEN - set(CODES) == set()


def test_every_row_is_written_somewhere() -> None:
    assert {row.code for row in (*lanes.CODES, *mapping.CODES)} - WRITTEN == set()


def test_a_remedy_speaks_of_nothing_that_its_sentence_has_not() -> None:
    """So that whoever fills the sentence has filled the remedy; ``where`` is for the remedy alone."""

    def places(text: str) -> set[str]:
        return {name for _, name, _, _ in string.Formatter().parse(text) if name}

    for row in (*lanes.CODES, *mapping.CODES):
        assert places(row.remedy) - places(row.sentence) <= {"where"}, row.code


def test_names_of_rules_are_the_names_in_their_verdicts(ask: Callable[..., LaneQuestion]) -> None:
    verdict = judge(ask())
    assert [rule.name for rule in RULES] == [one.rule for one in verdict.verdicts]


def test_every_answer_of_a_lane_makes_a_sentence_and_a_remedy(ask: Callable[..., LaneQuestion]) -> None:
    running = RunningWork("fine", LayerStack.COLOUR, "banner-510")
    for question in (ask(), ask(running=running, beside=(None, running)), ask(substrate=None)):
        for verdict in judge(question).verdicts:
            assert "{" not in sentence(verdict.as_finding()) + remedy(verdict.as_finding())


def test_ten_banners_on_their_own_roll_can_be_printed(ask: Callable[..., LaneQuestion]) -> None:
    verdict = judge(ask())
    assert (verdict.answer, verdict.minutes, verdict.reasons) == (Answer.CAN, 0, ())


@pytest.mark.parametrize(("minutes", "answer"), [(14, Answer.NOT_UNTIL), (15, Answer.AFTER_CHANGE)])
def test_the_hour_is_judged_with_the_changes_that_the_other_rules_ask_for(
    ask: Callable[..., LaneQuestion], minutes: float, answer: Answer
) -> None:
    running = RunningWork("fine", LayerStack.COLOUR, "banner-510")  # 4 minutes, then 10.7 of printing
    question = ask(running=running)
    verdict = judge(ask(running=running, due=question.now + timedelta(minutes=minutes)))
    assert (verdict.answer, verdict.minutes) == (answer, 4)
