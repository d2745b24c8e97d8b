"""What a lost or doubtful answer of a press means: never twice, never silently none."""

import itertools

import pytest
from lxml import etree

from ticketbridge.hand_over.submission import MOVES, Knowledge, Move, Word, found_in_queue, word_of
from ticketbridge.model.exchange import Outcome
from ticketbridge.vocabulary.names import JDF_NAMESPACE

ASKED = [word for word in Word if word not in (Word.TAKEN, Word.NOT_SENT)]


def queue(*entries: str) -> etree._Element:
    inside = "".join(f"<QueueEntry QueueEntryID='P-1' Status='Waiting' {entry}/>" for entry in entries)
    return etree.fromstring(
        f"<JMF xmlns='{JDF_NAMESPACE}'><Response ReturnCode='0'><Queue>{inside}</Queue></Response></JMF>"
    )


def test_the_table_has_a_row_for_everything_that_is_asked_about() -> None:
    assert set(MOVES) == set(itertools.product(ASKED, Knowledge))


def test_what_the_press_has_is_never_sent_again_and_a_lost_one_only_when_it_surely_has_not() -> None:
    assert {MOVES[word, Knowledge.HAS_IT] for word in ASKED} == {Move.DELIVERED}
    lost = {knowledge for knowledge in Knowledge if MOVES[Word.LOST, knowledge] is Move.SEND}
    assert lost == {Knowledge.HAS_NOT}


@pytest.mark.parametrize(
    ("outcome", "code", "word"),
    [
        (Outcome.RECEIVED, 0, Word.TAKEN),
        (Outcome.NOT_REACHED, 0, Word.NOT_SENT),
        (Outcome.TLS_FAILED, 0, Word.NOT_SENT),
        (Outcome.TIMED_OUT, 0, Word.LOST),
        (Outcome.CUT_OFF, 0, Word.LOST),
        (Outcome.NO_JMF, 0, Word.LOST),
        (Outcome.BUSY, 0, Word.LOST),
        (Outcome.NEVER, 116, Word.LOST),
        (Outcome.NEVER, 101, Word.REFUSED),
        (Outcome.BODY_REFUSED, 0, Word.REFUSED),
        (Outcome.LATER, 112, Word.REFUSED_FOR_NOW),
        (Outcome.REDIRECTED, 0, Word.REFUSED_FOR_NOW),
        (Outcome.NOT_LET_IN, 0, Word.REFUSED_FOR_NOW),
    ],
)
def test_an_answer_is_worth_what_it_says(outcome: Outcome, code: int, word: Word) -> None:
    assert word_of(outcome, code) is word


@pytest.mark.parametrize(
    ("answer", "knowledge"),
    [
        (queue("JobPartID='1.Q000007'"), Knowledge.HAS_IT),
        (queue("JobPartID='1.Q000008'"), Knowledge.HAS_NOT),
        (queue(), Knowledge.HAS_NOT),
        (queue("JobPartID='1.Q000008'", ""), Knowledge.CANNOT_TELL),
        (queue("JobPartID='1.Q000007'", ""), Knowledge.HAS_IT),
        (etree.fromstring(f"<JMF xmlns='{JDF_NAMESPACE}'><Response/></JMF>"), Knowledge.CANNOT_TELL),
    ],
)
def test_a_queue_tells_of_an_entry_by_its_part(answer: etree._Element, knowledge: Knowledge) -> None:
    assert found_in_queue(Outcome.RECEIVED, 0, answer, "Q000007").knowledge is knowledge


@pytest.mark.parametrize(
    ("outcome", "code", "knowledge"),
    [
        (Outcome.NEVER, 108, Knowledge.HAS_NOT),
        (Outcome.NEVER, 5, Knowledge.CANNOT_TELL),
        (Outcome.RECEIVED, 0, Knowledge.CANNOT_TELL),
        (Outcome.NOT_REACHED, 0, Knowledge.NOT_ASKED),
        (Outcome.LATER, 10, Knowledge.NOT_ASKED),
    ],
)
def test_an_answer_without_a_queue_is_told_apart(outcome: Outcome, code: int, knowledge: Knowledge) -> None:
    assert found_in_queue(outcome, code, None, "Q000007").knowledge is knowledge
