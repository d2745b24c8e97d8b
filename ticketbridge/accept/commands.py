"""What a dropped JMF asks of the queue: which jobs, what of each. Old and new forms alike."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding
from ticketbridge.model.request import Wish
from ticketbridge.vocabulary.names import jdf

WISHES: Final[Mapping[str, Wish]] = {
    "HoldQueueEntry": Wish.HOLD,
    "ResumeQueueEntry": Wish.RESUME,
    "RemoveQueueEntry": Wish.CANCEL,
    "SetQueueEntryPriority": Wish.PRIORITY,
}
"""``Command@Type`` and what it is to us."""

_PARAMS: Final[Mapping[Wish, str]] = {
    Wish.HOLD: "HoldQueueEntryParams",
    Wish.RESUME: "ResumeQueueEntryParams",
    Wish.CANCEL: "RemoveQueueEntryParams",
    Wish.PRIORITY: "QueueEntryPriParams",
}
_NOT_READ: Final = ("StatusList", "NewerThan", "OlderThan", "MaxEntries", "GangNames")
"""Attributes of a QueueFilter that would narrow the choice; what is narrowed must not be done to all."""
_NOT_READ_INSIDE: Final = ("Device", "Part")


@dataclass(frozen=True, slots=True)
class QueueCommand:
    """One command or query.

    Attributes:
        message_id: ``@ID``, which the Response repeats as ``@refID``.
        kind: ``@Type``.
        wish: What it asks; None where this is no message that is done by folder.
        queue_entry_ids: The jobs by our own names.
        job_id: Else the job's name as the MIS has it, with all its parts or one.
        job_part_id: The part.
        priority: The new one, 0 to 100.
        fault: Why it cannot be done as it stands.
    """

    message_id: str
    kind: str
    wish: Wish | None
    queue_entry_ids: tuple[str, ...] = ()
    job_id: str | None = None
    job_part_id: str | None = None
    priority: int | None = None
    fault: Finding | None = None


def read_commands(root: Element) -> Iterator[QueueCommand]:
    """Every message of a JMF document that wants an answer, in order.

    Args:
        root: Root of a document that fits our schema.
    """
    for message in root.iterchildren(jdf("Command"), jdf("Query"), jdf("Registration")):
        message_id, kind = message.get("ID", ""), message.get("Type", "")
        wish = WISHES.get(kind) if message.tag == jdf("Command") else None
        if wish is None:
            fault = Finding("command.not-done", facts={"kind": kind})
            yield QueueCommand(message_id, kind, None, fault=fault)
        else:
            yield _command(message, message_id, kind, wish)


def _command(message: Element, message_id: str, kind: str, wish: Wish) -> QueueCommand:
    params = message.find(jdf(_PARAMS[wish]))
    filters = [] if params is None else list(params.iterchildren(jdf("QueueFilter")))
    holders = [message, *filters]
    names = [
        entry.get("QueueEntryID", "") for one in holders for entry in one.iterchildren(jdf("QueueEntryDef"))
    ]
    if params is not None and params.get("QueueEntryID"):
        names.append(params.get("QueueEntryID", ""))
    job_id = next((one.get("JobID") for one in filters if one.get("JobID")), None)
    part_id = next((one.get("JobPartID") for one in filters if one.get("JobPartID")), None)
    priority = int(params.get("Priority", "0")) if params is not None and wish is Wish.PRIORITY else None
    fault = _fault(
        filters, kind, named=bool(names or job_id), lacks=wish is Wish.PRIORITY and priority is None
    )
    unique = tuple(dict.fromkeys(names))
    return QueueCommand(message_id, kind, wish, unique, job_id, part_id, priority, fault)


def _fault(filters: list[Element], kind: str, *, named: bool, lacks: bool) -> Finding | None:
    if lacks:
        return Finding("command.no-priority", facts={"kind": kind})
    for one in filters:
        narrowed = [f"@{name}" for name in _NOT_READ if one.get(name) is not None]
        narrowed += [name for name in _NOT_READ_INSIDE if one.find(jdf(name)) is not None]
        if narrowed:
            return Finding("command.filter-not-read", facts={"kind": kind, "what": ", ".join(narrowed)})
    return None if named else Finding("command.names-nothing", facts={"kind": kind})
