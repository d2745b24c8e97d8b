"""What the store is told and tells besides jobs: small records, and the ways it says no."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

from sqlalchemy.exc import IntegrityError, InterfaceError, OperationalError

from ticketbridge.model.finding import Finding

WorldFault: Final = (OperationalError, InterfaceError)
"""The database cannot do its work now: disk full, locked, away. Nobody's ticket is at fault; try again later."""

AlreadyThere: Final = IntegrityError
"""A unique key refuses a row: another bridge was quicker with the same. Nothing was changed."""


class StateMoved(Exception):
    """A job was not in the state it was thought to be in; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Intake:
    """What became of one dropped file."""

    claim_id: str
    source: str
    original_name: str
    place: str
    sha256: str
    findings: Sequence[Finding]


@dataclass(frozen=True, slots=True)
class Known:
    """A content that was a job before: the job that stands for it, if any still does, and how many there were."""

    queue_entry_id: str | None
    printings: int


@dataclass(frozen=True, slots=True)
class LaneLoad:
    """What one lane has to do of one kind, summed up: the rules need no more, and a queue may be long."""

    device_id: str
    given: bool
    print_mode: str
    layer_stack: str
    substrate: str
    tickets: int
    """A gang's members are one."""
    print_s: float
    roll_length_mm: float


@dataclass(frozen=True, slots=True)
class QueueSize:
    """How many unfinished jobs a lane's queue holds, and whether one of them runs."""

    jobs: int = 0
    running: bool = False


class DeliveryState(StrEnum):
    """How far an intention to hand a ticket over has come."""

    INTENDED = "intended"
    SUBMITTING = "submitting"
    """By message: a first byte may have left, so the press is asked before anything is sent again."""
    IN_DOUBT = "in doubt"
    """The press cannot tell whether it has it; a person must say."""
    DELIVERED = "delivered"


@dataclass(frozen=True, slots=True)
class Delivery:
    """An intention to hand a ticket to a lane.

    Attributes:
        state: How far it has come.
        press_entry_id: The entry's name in the press's own queue, where the press speaks JMF and said it.
    """

    queue_entry_id: str
    device_id: str
    temporary_name: str
    final_name: str
    state: DeliveryState = DeliveryState.INTENDED
    press_entry_id: str | None = None

    @property
    def delivered(self) -> bool:
        """Whether the lane surely has it."""
        return self.state is DeliveryState.DELIVERED


@dataclass(frozen=True, slots=True)
class Message:
    """A message in the outbox: the same bytes on every try."""

    channel: str
    seq: int
    body: bytes
    file_name: str
    at: datetime


@dataclass(frozen=True, slots=True)
class DeadLetter:
    """A message that was given up, and why."""

    message: Message
    reason: str
