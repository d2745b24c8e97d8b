"""Answers given before, kept as bytes: the same question about the same state needs no second reading.

An MIS that polls sends the same document again and again, but for its IDs and its time. A document that is the
same but for those, from the same partners, was parsed and checked before; its answer is the same but for IDs
and time for as long as the world that it was made from is the one that would be looked at now.

Used by the event loop alone.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from ticketbridge.answer.queue_filter import QueueFilter
from ticketbridge.answer.world import World
from ticketbridge.model.jmf_partner import JmfSender

MOST_KEPT: Final = 64
LONGEST_BYTES: Final = 256 * 1024
_DAY: Final = rb"[0-9]{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])"
_TIME: Final = rb"(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](?:\.[0-9]{1,9})?(?:Z|[+-][01][0-9]:[0-5][0-9])"
_VARIES: Final = re.compile(
    rb'(?<=\sTimeStamp=")' + _DAY + b"T" + _TIME + rb'(?=")|(?<=\sID=")([A-Za-z_][A-Za-z0-9_.-]{0,62})(?=")'
)
"""What may differ between two documents that ask for the same. Only plain forms: whatever else a sender writes
there is compared as it stands, and so is read and checked like any other document."""
_OURS: Final = re.compile(
    rb'(?<=\srefID=")[^"]*(?=")|(?<=\sTimeStamp=")[^"]*(?=")|(?<=\sID=")R[0-9a-f]{6}-[0-9]+-[0-9]+(?=")'
)
"""What differs between two answers that say the same."""


@dataclass(frozen=True, slots=True)
class Question:
    """One query of a document, and the world that it was answered from."""

    device_id: str | None
    entries: QueueFilter
    world: World


@dataclass(frozen=True, slots=True)
class Known:
    """An answer that can be given again.

    Attributes:
        sender: Who asked.
        questions: What was asked, and what was seen.
        pieces: The answer, cut where something differs each time.
        fillings: What goes between: the number of an ID of the question, or ``time``, or ``id`` for one of ours.
    """

    sender: JmfSender
    questions: tuple[Question, ...]
    pieces: tuple[bytes, ...]
    fillings: tuple[int | str, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A document that may have been asked before.

    Attributes:
        key: Who may have sent it, and its bytes without what differs each time.
        ids: The IDs in it, in order.
    """

    key: tuple[object, ...]
    ids: tuple[bytes, ...]


class KnownAnswers:
    """The latest answers to queries."""

    def __init__(self, seen: Callable[[JmfSender, str | None, QueueFilter], World | None]) -> None:
        self._seen = seen
        self._kept: dict[tuple[object, ...], Known] = {}

    def asked(self, senders: Sequence[JmfSender], body: bytes) -> Asked:
        """The document as it may be known, from one of these senders."""
        ids = tuple(found for found in _VARIES.findall(body) if found)
        return Asked((tuple(one.id for one in senders), _VARIES.sub(b"", body)), ids)

    def find(self, asked: Asked, at: str, fresh_id: Callable[[], str]) -> bytes | None:
        """The answer, made out anew; None where it must be looked at.

        Args:
            asked: The document.
            at: Now, as a document has it.
            fresh_id: Gives an ID that no other answer has.
        """
        known = self._kept.get(asked.key)
        if known is None or len(set(asked.ids)) != len(asked.ids):
            return None
        for question in known.questions:
            if self._seen(known.sender, question.device_id, question.entries) is not question.world:
                return None
        prefix, count, filled = fresh_id(), 0, [known.pieces[0]]
        for filling, piece in zip(known.fillings, known.pieces[1:], strict=True):
            if isinstance(filling, int):
                filled.append(asked.ids[filling])
            elif filling == "time":
                filled.append(at.encode())
            else:
                filled.append(f"{prefix}-{count}".encode())
                count += 1
            filled.append(piece)
        return b"".join(filled)

    def keep(
        self,
        asked: Asked,
        sender: JmfSender,
        questions: Sequence[Question],
        ref_ids: Sequence[str],
        answer: bytes,
    ) -> None:
        """Keep an answer that says nothing but what these questions asked; each Response names one of these IDs."""
        fillings: list[int | str] = []
        for found in _OURS.finditer(answer):
            name = answer[: found.start()].rpartition(b" ")[2]
            if name == b'refID="':
                if found[0] not in asked.ids:
                    return
                fillings.append(asked.ids.index(found[0]))
            else:
                fillings.append("time" if name == b'TimeStamp="' else "id")
        refs = sum(isinstance(filling, int) for filling in fillings)
        plain = refs == len(ref_ids) == fillings.count("id") and fillings.count("time") == 1
        if not plain or len(answer) > LONGEST_BYTES:
            return
        if len(self._kept) >= MOST_KEPT:
            self._kept.clear()
        self._kept[asked.key] = Known(sender, tuple(questions), tuple(_OURS.split(answer)), tuple(fillings))
