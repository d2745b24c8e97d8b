"""Which of the waiting jobs may be handed to their lanes now."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol, TypeVar

from ticketbridge.decide.beside import LaneWork, clash_of
from ticketbridge.model.lane_state import LaneState, RunningWork
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack


@dataclass(frozen=True, slots=True)
class WaitingJob:
    """A job that the bridge holds for a lane.

    Attributes:
        queue_entry_id: Its name.
        device_id: Its lane.
        priority: 0 to 100, higher first.
        due: With its offset; a job without comes after those with one.
        number: Rising with arrival.
        print_mode: Id of its mode.
        layer_stack: What is laid down.
        substrate: Id of its substrate.
        plan_position: Its place in the plan in force; a job that no plan knew comes after those of its
            priority that one did.
    """

    queue_entry_id: str
    device_id: str
    priority: int
    due: datetime | None
    number: int
    print_mode: str
    layer_stack: LayerStack
    substrate: str
    plan_position: int | None = None
    position: int | None = None
    """Its place in its lane's queue where it was given one; it goes before those without."""
    submitted_at: datetime | None = None
    """When it came; a job that does not say waits for no partner."""
    print_s: float = 0.0
    """Seconds that it prints."""


class InLine(Protocol):
    """What the order of a queue rests on."""

    @property
    def position(self) -> int | None:
        """A place given by a person or the MIS."""

    @property
    def priority(self) -> int:
        """0 to 100."""

    @property
    def due(self) -> datetime | None:
        """When it is due."""

    @property
    def number(self) -> int:
        """Rising with arrival."""

    @property
    def plan_position(self) -> int | None:
        """Its place in the plan in force."""


Queued = TypeVar("Queued", bound=InLine)


def releases(
    waiting: Iterable[WaitingJob], lane_states: Mapping[str, LaneState], shop: Shop
) -> tuple[str, ...]:
    """QueueEntryIDs of the jobs that may be handed over now, in the order to hand them over.

    Jobs go by the place they were given, then by priority, then as the plan in force has them, then by due
    time, then by number. A lane is given at most ``ahead`` tickets that it has
    not finished; 0 is no limit. A job goes out only if it can print side by side with what runs on, or was
    given to, the other lanes of its press, those of this very call included.

    Nobody overtakes on a lane: where the first in line does not agree with what runs beside it, it waits
    until that has ended, and its lane with it. Meanwhile the other lanes get nothing that comes after it
    in order and would not agree with it either. So its turn comes as soon as the running work ends, and
    the lane beside it cannot keep it waiting for ever. It has a price, and a bounded one: the lane beside
    may stand empty until the press has changed over.
    """
    yards: dict[str, _Yard] = {}
    lanes = shop.lanes()
    released = []
    for job in in_order(waiting):
        if job.device_id not in lanes:
            continue
        press, lane = lanes[job.device_id]
        if press.id not in yards:
            yards[press.id] = _Yard(press, shop, lane_states)
        if yards[press.id].admits(job, lane):
            released.append(job.queue_entry_id)
    return tuple(released)


def queue_order(job: InLine) -> tuple[bool, int, int, bool, int, bool, float, int]:
    """The key that puts the entries of a queue in the order in which they go to the press."""
    return (
        job.position is None,
        job.position or 0,
        -job.priority,
        job.plan_position is None,
        job.plan_position or 0,
        job.due is None,
        job.due.timestamp() if job.due else 0.0,
        job.number,
    )


def in_order(waiting: Iterable[Queued]) -> list[Queued]:
    """Jobs as they stand in line: by the place they were given, then priority, due time and number."""
    return sorted(waiting, key=queue_order)


@dataclass
class _Stand:
    """One lane while jobs are handed over."""

    given: int
    works: list[LaneWork] = field(default_factory=list)
    """What runs there or was given to it."""
    first_in_line: LaneWork | None = None
    """A job that must wait for another lane; nothing of its own lane passes it."""


class _Yard:
    """The lanes of one press while jobs are handed over."""

    def __init__(self, press: Press, shop: Shop, lane_states: Mapping[str, LaneState]) -> None:
        self._press = press
        self._shop = shop
        self._states = lane_states
        self._stands: dict[str, _Stand] = {}
        for lane in press.lanes:
            state = self._state(lane)
            works = [self._work(lane, *_parts(state.running))] if state.running else []
            works += [self._work(lane, *_parts(work)) for work in state.given_work]
            self._stands[lane.device_id] = _Stand(state.given, works)

    def admits(self, job: WaitingJob, lane: Lane) -> bool:
        """Whether a job may go to its lane now; if so it counts as given from here on."""
        stand = self._stands[lane.device_id]
        if stand.first_in_line or (lane.ahead and stand.given >= lane.ahead):
            return False
        work = self._work(lane, job.print_mode, job.layer_stack, job.substrate)
        if self._must_wait(work):
            stand.first_in_line = work
            return False
        stand.given += 1
        stand.works.append(work)
        return True

    def _must_wait(self, work: LaneWork) -> bool:
        for device_id, stand in self._stands.items():
            if device_id == work.lane.device_id:
                continue
            others = [*stand.works, stand.first_in_line] if stand.first_in_line else stand.works
            if any(clash_of(self._press, work, other) for other in others):
                return True
        return False

    def _state(self, lane: Lane) -> LaneState:
        return self._states.get(lane.device_id) or LaneState(roll=lane.roll)

    def _work(self, lane: Lane, print_mode: str, layer_stack: LayerStack, substrate_id: str) -> LaneWork:
        roll = self._state(lane).roll
        width = roll.width_mm if roll and roll.substrate == substrate_id else None
        substrate = self._shop.substrates.get(substrate_id)
        return LaneWork(lane, print_mode, layer_stack, substrate_id, substrate, width)


def _parts(work: RunningWork) -> tuple[str, LayerStack, str]:
    return work.print_mode, work.layer_stack, work.substrate
