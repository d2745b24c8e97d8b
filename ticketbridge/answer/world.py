"""What the answers rest on: the lanes, their queues and rolls, the open channels, as they are at one moment."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from ticketbridge.model.job import Standing
from ticketbridge.model.queue_state import QueueState
from ticketbridge.model.subscription import Subscription
from ticketbridge.model.substrate import Roll
from ticketbridge.model.used import InkLevel, Use

SMALL_QUEUE: Final = 100
"""So many entries are put into an answer in about a millisecond."""


@dataclass(frozen=True, slots=True)
class RollNow:
    """A roll on a lane or on the shelf.

    Attributes:
        roll: The roll.
        media: Its attributes as ``Media``.
        level: ``ResourceInfo@Level``.
    """

    roll: Roll
    media: Mapping[str, str]
    level: str

    @property
    def left_m2(self) -> float:
        """What is left of it."""
        return self.roll.length_left_m * self.roll.width_mm / 1000


@dataclass(frozen=True, slots=True)
class LaneNow:
    """One lane: a device of its own with a queue of its own.

    Attributes:
        device_id: ``Device@DeviceID``.
        name: For people.
        press: The press it belongs to, for people.
        jobs: The entries that the asker may see, in order of execution, ended ones last.
        size: Unfinished entries, whoever's they are.
        running: The job that runs there, whoever's it is; None where none does.
        queue: What was said of its queue.
        roll: The roll on it.
        inks: Its inks, as the press said since the bridge runs.
        visible_run: The job that runs there, where it is the asker's own.
    """

    device_id: str
    name: str
    press: str
    jobs: tuple[Standing, ...]
    size: int
    running: Standing | None
    queue: QueueState
    roll: RollNow | None
    inks: tuple[InkLevel, ...] = ()
    visible_run: Standing | None = None


@dataclass(frozen=True, slots=True)
class Taking:
    """What an entry takes.

    Attributes:
        job: The entry.
        media: Its substrate as ``Media``.
        has_roll: Whether a roll in the shop suits it.
        area_m2: Of the roll, by estimate.
        ink_ml: Of each separation, by estimate.
        used: By kind of resource, what its press said that it has used so far.
    """

    job: Standing
    media: Mapping[str, str]
    has_roll: bool
    area_m2: float
    ink_ml: Mapping[str, float]
    used: Mapping[str, tuple[Use, ...]]


@dataclass(frozen=True, slots=True)
class World:
    """Everything that is asked about.

    Attributes:
        bridge_id: The bridge's own DeviceID.
        addressed: The lane that the message is for; None means the bridge with all its lanes.
        lanes: The lanes that are meant.
        most_entries: A queue with so many is Full.
        shelf: Rolls on the shelf.
        takings: What the entries take that are asked for, where that is asked.
        subscriptions: The asker's channels.
        ticket_schemes: How a ticket may be named: ``cid``, and what this asker may use besides.
    """

    bridge_id: str
    addressed: str | None
    lanes: tuple[LaneNow, ...]
    most_entries: int
    shelf: tuple[RollNow, ...] = ()
    takings: tuple[Taking, ...] = ()
    subscriptions: tuple[Subscription, ...] = ()
    ticket_schemes: tuple[str, ...] = ("cid",)

    @property
    def is_small(self) -> bool:
        """Whether answering takes no time worth a step into another thread."""
        return sum(len(lane.jobs) for lane in self.lanes) <= SMALL_QUEUE
