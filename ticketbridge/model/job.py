"""A job: one item of an accepted order, routed to a lane, with its state."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from ticketbridge.model.estimate import Estimate
from ticketbridge.model.job_states import State
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Order
from ticketbridge.model.substrate import Roll
from ticketbridge.model.verdict import LaneVerdict

WAITS_FOR_ROLL: Final = "JobMissResources"
"""``QueueEntry@StatusDetails`` of a job that no roll in the shop suits; it is judged again at every start."""


WAITS_FOR_PARTNER: Final = "WaitForGang"
"""``QueueEntry@StatusDetails`` of a job that waits for one to print beside it."""

HELD_ON_CREATE: Final = "JobHeldOnCreate"
"""``QueueEntry@StatusDetails`` of a job whose own ticket says that it is Held; a ticket that does not lets it go."""


@dataclass(frozen=True, slots=True)
class Job:
    """One job as decided.

    Attributes:
        number: Ours, rising; ``queue_entry_id`` is made of it.
        queue_entry_id: ``QueueEntry@QueueEntryID``: ours, and the job's name from here on.
        claim_id: The dropped file it came in.
        identity: Hash of the mapped order and its artwork: the same again is this job.
        item_index: Which item of the order, from 0.
        printing: 1, or more where a person asked to print the same again, or an earlier job of it was replaced.
        revision: 1, or more where an earlier content of the same JobID and JobPartID came before.
        device_id: The lane.
        roll: The roll it was laid out for: the one on the lane, or one from stock; None where the shop has none.
        judged: Every lane's verdict.
        origins: Where every value came from, by field path.
    """

    number: int
    queue_entry_id: str
    claim_id: str
    identity: str
    item_index: int
    printing: int
    revision: int
    device_id: str
    order: Order
    roll: Roll | None
    layout: Layout
    judged: tuple[LaneVerdict, ...]
    estimate: Estimate
    origins: Mapping[str, Any]
    submitted_at: datetime
    held: bool = False
    """Whether it is Held from the beginning, by its own ticket."""

    @property
    def item(self) -> Item:
        """The item to print."""
        return self.order.items[self.item_index]


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a job stands now: what changes after it was decided.

    Amounts are pieces; ``amount`` is good ones.
    """

    queue_entry_id: str
    number: int
    source: str
    job_id: str
    job_part_id: str
    revision: int
    state: State
    phase: str
    status_details: str | None
    device_id: str
    given: bool
    priority: int
    due: datetime | None
    substrate: str
    print_mode: str
    layer_stack: str
    quantity: int
    print_s: float
    roll_length_mm: float
    amount: float
    waste: float
    submitted_at: datetime
    started_at: datetime | None
    ended_at: datetime | None
    plan_position: int | None = None
    """Its place in the plan in force; none where no plan knew it."""
    position: int | None = None
    """Its place in its lane's queue where a person or the MIS gave it one, from 0; the others follow."""
    listed: bool = True
    """Whether the MIS still sees it in the queue; a finished entry that was removed keeps its history."""


def first_details(job: Job) -> str:
    """``QueueEntry@StatusDetails`` of a job that was just made."""
    return HELD_ON_CREATE if job.held else queued_details(job)


def queued_details(job: Job) -> str:
    """``QueueEntry@StatusDetails`` of a job that waits for its lane."""
    return WAITS_FOR_ROLL if job.roll is None else "QueuedToRun"


def as_text(moment: datetime) -> str:
    """A moment as the store keeps it: UTC, microseconds, sortable."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def as_moment(text: str) -> datetime:
    """The reverse of ``as_text``."""
    return datetime.fromisoformat(text)


def queue_entry_id_of(number: int) -> str:
    """The name of the job with that number."""
    return f"Q{number:06d}"


def press_part_id(job_part_id: str, queue_entry_id: str) -> str:
    """The JobPartID in a lane's ticket: the MIS's own part, then our queue entry.

    Whatever a press reports carries its JobPartID, so the job is found without guessing among revisions and
    sources. Cut to the 63 characters that a JobPartID takes (shortString).
    """
    room = 62 - len(queue_entry_id)
    return f"{job_part_id[:room]}.{queue_entry_id}"


def queue_entry_id_in(press_part: str) -> str:
    """The queue entry in a JobPartID that a press reports."""
    return press_part.rpartition(".")[2]
