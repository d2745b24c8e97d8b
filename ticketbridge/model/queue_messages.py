"""The one table of what a message may do to a queue entry: (where it stands, message) -> what comes of it.

``flow.queue.commanding`` goes by it, ``schemas/README.md`` shows it, and the tests are drawn from it. An entry that
waits at its lane stands apart from one that the bridge holds: what a press has, only the press can give back.

Sources: the moves and the codes of the standard as listed for JMF 1.x; which code answers which wrong moment
is from memory, except where the text of XJDF 2.x names it (Hold, Resume, Suspend, Remove, Abort, Move).
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.return_codes import ReturnCode


class EntryMessage(StrEnum):
    """``Command@Type`` of the messages that concern one queue entry."""

    HOLD = "HoldQueueEntry"
    RESUME = "ResumeQueueEntry"
    SUSPEND = "SuspendQueueEntry"
    ABORT = "AbortQueueEntry"
    REMOVE = "RemoveQueueEntry"
    PRIORITY = "SetQueueEntryPriority"
    POSITION = "SetQueueEntryPosition"
    RESUBMIT = "ResubmitQueueEntry"


class Stand(StrEnum):
    """Where an entry stands, for the table: its state, and whether its lane has the ticket."""

    WAITING = "Waiting"
    HELD = "Held"
    AT_LANE = "Waiting at its lane"
    RUNNING = "Running"
    SUSPENDED = "Suspended"
    PENDING_RETURN = "PendingReturn"
    COMPLETED = "Completed"
    ABORTED = "Aborted"
    REMOVED = "Removed"


class AskPress(StrEnum):
    """The bridge cannot decide it alone."""

    ASK_THE_PRESS = "ask the press"


ASK: Final = AskPress.ASK_THE_PRESS
Cell = State | ReturnCode | AskPress

_ENDED: Final[Mapping[EntryMessage, Cell]] = dict.fromkeys(EntryMessage, ReturnCode.ENTRY_ENDED)
_GONE: Final[Mapping[EntryMessage, Cell]] = dict.fromkeys(EntryMessage, ReturnCode.UNKNOWN_ENTRY)
_FINISHED: Final[Mapping[EntryMessage, Cell]] = {**_ENDED, EntryMessage.REMOVE: State.REMOVED}
_AT_PRESS: Final[Mapping[EntryMessage, Cell]] = {
    EntryMessage.SUSPEND: ASK,
    EntryMessage.ABORT: ASK,
    EntryMessage.PRIORITY: ReturnCode.TOO_LATE,
    EntryMessage.POSITION: ReturnCode.TOO_LATE,
    EntryMessage.RESUBMIT: ReturnCode.TOO_LATE,
}

TABLE: Final[Mapping[Stand, Mapping[EntryMessage, Cell]]] = {
    Stand.WAITING: {
        EntryMessage.HOLD: State.HELD,
        EntryMessage.RESUME: ReturnCode.ALREADY_SO,
        EntryMessage.SUSPEND: ReturnCode.ENTRY_NOT_RUNNING,
        EntryMessage.ABORT: State.ABORTED,
        EntryMessage.REMOVE: State.REMOVED,
        EntryMessage.PRIORITY: State.WAITING,
        EntryMessage.POSITION: State.WAITING,
        EntryMessage.RESUBMIT: State.WAITING,
    },
    Stand.HELD: {
        EntryMessage.HOLD: ReturnCode.ALREADY_SO,
        EntryMessage.RESUME: State.WAITING,
        EntryMessage.SUSPEND: ReturnCode.ENTRY_NOT_RUNNING,
        EntryMessage.ABORT: State.ABORTED,
        EntryMessage.REMOVE: State.REMOVED,
        EntryMessage.PRIORITY: State.HELD,
        EntryMessage.POSITION: State.HELD,
        EntryMessage.RESUBMIT: State.HELD,
    },
    Stand.AT_LANE: {
        **_AT_PRESS,
        EntryMessage.HOLD: ASK,
        EntryMessage.RESUME: ReturnCode.ALREADY_SO,
        EntryMessage.SUSPEND: ReturnCode.ENTRY_NOT_RUNNING,
        EntryMessage.REMOVE: ASK,
    },
    Stand.RUNNING: {
        **_AT_PRESS,
        EntryMessage.HOLD: ReturnCode.ENTRY_RUNS,
        EntryMessage.RESUME: ReturnCode.ALREADY_SO,
        EntryMessage.REMOVE: ReturnCode.ENTRY_RUNS,
    },
    Stand.SUSPENDED: {
        **_AT_PRESS,
        EntryMessage.HOLD: ReturnCode.ENTRY_RUNS,
        EntryMessage.RESUME: ASK,
        EntryMessage.SUSPEND: ReturnCode.ALREADY_SO,
        EntryMessage.REMOVE: ReturnCode.ENTRY_RUNS,
    },
    Stand.PENDING_RETURN: _ENDED,
    Stand.COMPLETED: _FINISHED,
    Stand.ABORTED: _FINISHED,
    Stand.REMOVED: _GONE,
}
"""A state: do it, and the entry is so then. A code: refuse with it. Or ask the press, and answer what it says."""


def stand_of(job: Standing) -> Stand:
    """Where a job stands, for the table."""
    if job.state is State.WAITING and job.given:
        return Stand.AT_LANE
    return Stand(job.state.value)


def outcome(job: Standing, message: EntryMessage) -> Cell:
    """What comes of that message now."""
    return TABLE[stand_of(job)][message]
