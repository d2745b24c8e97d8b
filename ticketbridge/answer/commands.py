"""What a command asks of queue entries: which of them, what of each. By folder and by HTTP the same."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from ticketbridge.answer.messages import Message
from ticketbridge.answer.queue_filter import QueueFilter, read_filter
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding
from ticketbridge.model.queue_messages import EntryMessage
from ticketbridge.vocabulary.names import jdf

_PARAMS: Final[Mapping[EntryMessage, str]] = {
    EntryMessage.HOLD: "HoldQueueEntryParams",
    EntryMessage.RESUME: "ResumeQueueEntryParams",
    EntryMessage.SUSPEND: "SuspendQueueEntryParams",
    EntryMessage.ABORT: "AbortQueueEntryParams",
    EntryMessage.REMOVE: "RemoveQueueEntryParams",
    EntryMessage.PRIORITY: "QueueEntryPriParams",
    EntryMessage.POSITION: "QueueEntryPosParams",
}


@dataclass(frozen=True, slots=True)
class EntryCommand:
    """One command to queue entries.

    Attributes:
        message: What it asks.
        entries: Which entries it means.
        priority: The new one, 0 to 100.
        position: The place that it asks for, from 0.
        before: The entry that it shall stand before (``NextQueueEntryID``).
        behind: The entry that it shall stand behind (``PrevQueueEntryID``).
        completed: Whether an aborted entry is to end as Completed.
        message_id: ``Command@ID``, which an Acknowledge repeats.
        acknowledge_url: Where an Acknowledge is wanted, where the answer takes longer.
        fault: Why it cannot be done as it stands.
    """

    message: EntryMessage
    entries: QueueFilter
    priority: int | None = None
    position: int | None = None
    before: str | None = None
    behind: str | None = None
    completed: bool = False
    message_id: str | None = None
    acknowledge_url: str | None = None
    fault: Finding | None = None


def entry_command(message: Message) -> EntryCommand | None:
    """What a message asks of queue entries; None where it is no such command."""
    if message.family != "Command" or message.kind not in _PARAMS:
        return None
    what = EntryMessage(message.kind)
    params = message.element.find(jdf(_PARAMS[what]))
    holders = [message.element] if params is None else [message.element, params]
    named = [params.get("QueueEntryID", "")] if params is not None and params.get("QueueEntryID") else []
    command = EntryCommand(
        what,
        read_filter(holders, named),
        priority=_number(params, "Priority"),
        position=_number(params, "Position"),
        before=None if params is None else params.get("NextQueueEntryID"),
        behind=None if params is None else params.get("PrevQueueEntryID"),
        completed=params is not None and params.get("EndStatus") == "Completed",
        message_id=message.message_id,
        acknowledge_url=message.element.get("AcknowledgeURL"),
    )
    fault = _fault(command)
    return command if fault is None else EntryCommand(what, command.entries, fault=fault)


def _fault(command: EntryCommand) -> Finding | None:
    kind = command.message.value
    if command.message is EntryMessage.PRIORITY and command.priority is None:
        return Finding("command.no-priority", facts={"kind": kind})
    places = (command.position, command.before, command.behind)
    if command.message is EntryMessage.POSITION and not any(place is not None for place in places):
        return Finding("command.no-position", facts={"kind": kind})
    if command.entries.not_read:
        what = ", ".join(command.entries.not_read)
        return Finding("command.filter-not-read", facts={"kind": kind, "what": what})
    if not command.entries.names_something:
        return Finding("command.names-nothing", facts={"kind": kind})
    return None


def _number(params: Element | None, name: str) -> int | None:
    said = None if params is None else params.get(name)
    return None if said is None else int(said)
