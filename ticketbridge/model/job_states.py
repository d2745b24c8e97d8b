"""The one table of what may follow what. States are the standard's words for a queue entry (``QueueEntry@Status``)."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class State(StrEnum):
    """Where a job stands in the queue."""

    WAITING = "Waiting"
    HELD = "Held"
    RUNNING = "Running"
    SUSPENDED = "Suspended"
    PENDING_RETURN = "PendingReturn"
    COMPLETED = "Completed"
    ABORTED = "Aborted"
    REMOVED = "Removed"


class Step(StrEnum):
    """What can happen to a job."""

    RELEASED = "released"
    """Handed to its lane; it waits there, and only the press can say more."""
    STARTED = "started"
    STOPPED = "stopped"
    """The press stands and will go on."""
    WENT_ON = "went on"
    SUSPENDED = "suspended"
    """Put aside on the press for another job."""
    FINISHED = "finished"
    BROKEN_OFF = "broken off"
    RETURNED = "returned"
    """The ticket of a finished job is on its way back to the MIS."""
    RETURNED_BROKEN_OFF = "returned broken off"
    HELD = "held"
    RESUMED = "resumed"
    CANCELLED = "cancelled"
    """A person or the MIS does not want it any more, and the press does not have it."""
    ABORTED = "aborted"
    """The MIS broke it off before the press had it; it stays in the queue, as an ended entry."""
    REPLACED = "replaced"
    """A newer revision took its place before the press had it."""


TRANSITIONS: Final[Mapping[tuple[State, Step], State]] = {
    (State.WAITING, Step.RELEASED): State.WAITING,
    (State.WAITING, Step.STARTED): State.RUNNING,
    (State.WAITING, Step.HELD): State.HELD,
    (State.WAITING, Step.REPLACED): State.REMOVED,
    (State.WAITING, Step.CANCELLED): State.REMOVED,
    (State.WAITING, Step.ABORTED): State.ABORTED,
    (State.HELD, Step.RESUMED): State.WAITING,
    (State.HELD, Step.CANCELLED): State.REMOVED,
    (State.HELD, Step.ABORTED): State.ABORTED,
    (State.HELD, Step.REPLACED): State.REMOVED,
    (State.HELD, Step.STARTED): State.RUNNING,
    (State.HELD, Step.BROKEN_OFF): State.PENDING_RETURN,
    (State.RUNNING, Step.STARTED): State.RUNNING,
    (State.RUNNING, Step.STOPPED): State.RUNNING,
    (State.RUNNING, Step.WENT_ON): State.RUNNING,
    (State.RUNNING, Step.SUSPENDED): State.SUSPENDED,
    (State.SUSPENDED, Step.WENT_ON): State.RUNNING,
    (State.SUSPENDED, Step.STARTED): State.RUNNING,
    (State.RUNNING, Step.FINISHED): State.PENDING_RETURN,
    (State.RUNNING, Step.BROKEN_OFF): State.PENDING_RETURN,
    (State.SUSPENDED, Step.BROKEN_OFF): State.PENDING_RETURN,
    (State.WAITING, Step.FINISHED): State.PENDING_RETURN,
    (State.WAITING, Step.BROKEN_OFF): State.PENDING_RETURN,
    (State.PENDING_RETURN, Step.RETURNED): State.COMPLETED,
    (State.PENDING_RETURN, Step.RETURNED_BROKEN_OFF): State.ABORTED,
}
"""(state, step) -> state. What is not here is not done: it becomes a finding, never a crash.

A short job may be finished before its first signal was seen, hence (Waiting, finished). A press may hold what it
was given, and start or break off what it held, hence (Held, started) and (Held, broken off).
"""

FINAL: Final = frozenset({State.COMPLETED, State.ABORTED, State.REMOVED})
"""States that nothing leaves."""

OPEN: Final = frozenset(State) - FINAL
"""States of a job that is not finished. Asked for by these and not by what they are not, a store finds them by its index."""

AT_LANE: Final = frozenset({State.WAITING, State.RUNNING, State.SUSPENDED})
"""States in which a job that a lane was given still takes one of the lane's places."""


def after(state: State, step: Step) -> State | None:
    """The state that follows, or None where the step does not fit the state."""
    return TRANSITIONS.get((state, step))
