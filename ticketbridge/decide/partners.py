"""Narrow jobs that run side by side: who waits for a partner and until when, and which go together as a gang.

Two lanes under one carriage take hardly longer than one, so a job for a narrow lane may be worth holding back a
while. It never costs the due time, and it is never done in vain: where a job stands in line for the other lane that
does not agree with this one, no partner can come before it.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from ticketbridge.decide.beside import lanes_overlap
from ticketbridge.decide.release import WaitingJob
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.shop import Shop


@dataclass(frozen=True, slots=True)
class Partnered:
    """What becomes of the jobs that may be handed over now.

    Attributes:
        going: Those that are, in order.
        waits: Those that wait for a partner, with the time until which.
        gangs: By job, the name of the gang of those that go out to different lanes of a press at once.
    """

    going: tuple[str, ...] = ()
    waits: Mapping[str, datetime] = field(default_factory=dict)
    gangs: Mapping[str, str] = field(default_factory=dict)

    def beside(self, queue_entry_id: str) -> tuple[str, ...]:
        """The other jobs of its gang; none where it runs alone."""
        mine = self.gangs.get(queue_entry_id)
        return tuple(
            name for name, gang in self.gangs.items() if gang == mine is not None and name != queue_entry_id
        )

    def only(self, names: Collection[str]) -> "Partnered":
        """The same for these jobs alone; who is left without a partner runs alone."""
        kept = {name: gang for name, gang in self.gangs.items() if name in names}
        counted = Counter(kept.values())
        gangs = {name: gang for name, gang in kept.items() if counted[gang] > 1}
        return Partnered(tuple(name for name in self.going if name in names), self.waits, gangs)


ALONE: Final = Partnered()
"""Nobody waits, nobody runs beside another."""


def with_partners(
    released: Sequence[str],
    waiting: Iterable[WaitingJob],
    lane_states: Mapping[str, LaneState],
    shop: Shop,
    now: datetime,
) -> Partnered:
    """Hold back what had better wait for a partner, and name what goes together.

    Args:
        released: What may be handed over, in order, by ``release.releases``.
        waiting: All jobs that wait for a lane, these among them.
        lane_states: The lanes before any of them is handed over.
        shop: The presses, and how long a job waits.
        now: With its offset.
    """
    by_name = {job.queue_entry_id: job for job in waiting}
    lanes, in_line = shop.lanes(), {job.device_id for job in by_name.values()}
    going: list[str] = []
    waits: dict[str, datetime] = {}
    for name in released:
        job = by_name[name]
        press, lane = lanes[job.device_id]
        mates = _mates(press, lane)
        alone = bool(mates) and not any(mate in in_line or _busy(lane_states.get(mate)) for mate in mates)
        until = _until(job, press, shop, now)
        held_back = any(by_name[other].device_id == job.device_id for other in waits)  # nobody overtakes
        if held_back or (alone and now < until):
            waits[name] = until
        else:
            going.append(name)
    firsts: dict[str, list[str]] = {}
    for name in going:
        device_id = by_name[name].device_id
        mine = firsts.setdefault(lanes[device_id][0].id, [])
        if not _busy(lane_states.get(device_id)) and all(by_name[one].device_id != device_id for one in mine):
            mine.append(name)
    gangs = {name: f"G-{min(gang)}" for gang in firsts.values() if len(gang) > 1 for name in gang}
    return Partnered(tuple(going), waits, gangs)


def _mates(press: Press, lane: Lane) -> list[str]:
    return [other.device_id for other in press.lanes if other is not lane and not lanes_overlap(lane, other)]


def _busy(state: LaneState | None) -> bool:
    return state is not None and bool(state.running or state.given)


def _until(job: WaitingJob, press: Press, shop: Shop, now: datetime) -> datetime:
    """The end of its wait: so long after it came, but never later than it must begin to make its due time."""
    if job.submitted_at is None:
        return now
    end = job.submitted_at + timedelta(minutes=shop.settings.partner_wait_minutes)
    if job.due is None:
        return end
    changes = press.changeover_minutes.roll + press.changeover_minutes.print_mode
    return min(end, job.due - timedelta(seconds=job.print_s, minutes=changes))
