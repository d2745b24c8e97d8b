"""Handing a ticket to a press by message exactly once: what a lost answer means, decided by one table. Pure.

The intention is committed before the first byte leaves. Once one has left, nothing is sent again before the
press was asked for its queue: it has the entry, and the ticket is delivered; it has not, and the ticket is sent
again; it cannot tell, and a person is asked. ``JobPartID`` in the ticket ends in our queue entry, so that the
entry is found whatever name the press gave it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from ticketbridge.jdf.writing import Element
from ticketbridge.model.exchange import NOT_SENT, REFUSALS, Outcome
from ticketbridge.model.job import queue_entry_id_in
from ticketbridge.vocabulary.names import jdf

ENTRY_EXISTS: Final = 116
FILTER_EMPTY: Final = 108


class Word(StrEnum):
    """What the press's answer to a submission is worth."""

    TAKEN = "taken"
    NOT_SENT = "not sent"
    REFUSED_FOR_NOW = "refused for now"
    REFUSED = "refused"
    LOST = "lost"
    """No answer, half of one, or one that says nothing: it may have been taken."""


class Knowledge(StrEnum):
    """What the press says of an entry when it is asked for its queue."""

    HAS_IT = "has it"
    HAS_NOT = "has it not"
    CANNOT_TELL = "cannot tell"
    """It lists entries without their jobs, or does not answer such questions."""
    NOT_ASKED = "not asked"
    """It could not be asked now."""


class Move(StrEnum):
    """What is done next with a ticket that was to be submitted."""

    DELIVERED = "delivered"
    SEND = "send"
    WAIT = "wait"
    """And ask again."""
    REFUSED = "refused"
    """The job is held, and somebody looks at why."""
    ASK_A_PERSON = "ask a person"


MOVES: Final[Mapping[tuple[Word, Knowledge], Move]] = {
    (Word.REFUSED_FOR_NOW, Knowledge.HAS_IT): Move.DELIVERED,
    (Word.REFUSED_FOR_NOW, Knowledge.HAS_NOT): Move.SEND,
    (Word.REFUSED_FOR_NOW, Knowledge.CANNOT_TELL): Move.SEND,
    (Word.REFUSED_FOR_NOW, Knowledge.NOT_ASKED): Move.WAIT,
    (Word.REFUSED, Knowledge.HAS_IT): Move.DELIVERED,
    (Word.REFUSED, Knowledge.HAS_NOT): Move.REFUSED,
    (Word.REFUSED, Knowledge.CANNOT_TELL): Move.REFUSED,
    (Word.REFUSED, Knowledge.NOT_ASKED): Move.WAIT,
    (Word.LOST, Knowledge.HAS_IT): Move.DELIVERED,
    (Word.LOST, Knowledge.HAS_NOT): Move.SEND,
    (Word.LOST, Knowledge.CANNOT_TELL): Move.ASK_A_PERSON,
    (Word.LOST, Knowledge.NOT_ASKED): Move.WAIT,
}
"""(what the press answered, what it says when asked) -> what is done. A refusal is believed unless its queue says
otherwise: presses have been seen to take a ticket and answer with a code. ``TAKEN`` and ``NOT_SENT`` ask nothing."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a press's queue says of one entry."""

    knowledge: Knowledge
    press_entry_id: str | None = None


def word_of(outcome: Outcome, return_code: int) -> Word:
    """What an answer to SubmitQueueEntry is worth. 116: such an entry exists, and no other has our JobPartID."""
    if outcome is Outcome.RECEIVED:
        return Word.TAKEN
    if outcome in NOT_SENT:
        return Word.NOT_SENT
    if return_code == ENTRY_EXISTS or outcome not in REFUSALS:
        return Word.LOST
    if outcome in (Outcome.NEVER, Outcome.BODY_REFUSED):
        return Word.REFUSED
    return Word.REFUSED_FOR_NOW


def entry_named(answer: Element | None) -> str | None:
    """The name that the press gave the entry, in its Response to SubmitQueueEntry."""
    entry = None if answer is None else answer.find(f"{jdf('Response')}/{jdf('QueueEntry')}")
    return None if entry is None else entry.get("QueueEntryID")


def found_in_queue(outcome: Outcome, return_code: int, answer: Element | None, queue_entry_id: str) -> Found:
    """What the answer to a QueueStatus query says of our queue entry.

    Args:
        outcome: How that exchange ended.
        return_code: Its ReturnCode.
        answer: Root of the answer, where it is a JMF.
        queue_entry_id: Ours.
    """
    if return_code == FILTER_EMPTY:
        return Found(Knowledge.HAS_NOT)
    if outcome is Outcome.NEVER or (outcome is Outcome.RECEIVED and answer is None):
        return Found(Knowledge.CANNOT_TELL)
    if outcome is not Outcome.RECEIVED or answer is None:
        return Found(Knowledge.NOT_ASKED)
    queues = list(answer.iterfind(f"{jdf('Response')}/{jdf('Queue')}"))
    if not queues:
        return Found(Knowledge.CANNOT_TELL)
    entries = [entry for queue in queues for entry in queue.iterfind(jdf("QueueEntry"))]
    for entry in entries:
        if queue_entry_id_in(entry.get("JobPartID", "")) == queue_entry_id:
            return Found(Knowledge.HAS_IT, entry.get("QueueEntryID"))
    if any(not entry.get("JobPartID") for entry in entries):
        return Found(Knowledge.CANNOT_TELL)
    return Found(Knowledge.HAS_NOT)
