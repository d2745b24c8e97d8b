"""Gang runs on their way to a lane: who may join the next job, and which of them do."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from ticketbridge.decide.gang import Gang, behind, gang_of
from ticketbridge.decide.release import WaitingJob, in_order
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.lane.flaws import given_mm
from ticketbridge.flow.roll_account import roll_at_start
from ticketbridge.model.job import Job
from ticketbridge.model.shop import GangRuns
from ticketbridge.model.stock import StockRoll
from ticketbridge.model.substrate import Roll
from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Line:
    """What stands behind the jobs that go.

    Attributes:
        behind: By job that goes, those right behind it in its lane's line that are like it.
        rolls: By job that goes, its roll as it will be when the press begins with it; none where the stock lacks it.
        begins_at: By lane, when it is done at the latest with what it has, as far as is known.
    """

    behind: Mapping[str, tuple[Job, ...]] = field(default_factory=dict)
    rolls: Mapping[str, Roll] = field(default_factory=dict)
    begins_at: Mapping[str, datetime] = field(default_factory=dict)

    def besides(self, going: Sequence[Job]) -> list[Job]:
        """Those among them that do not go by themselves, each once."""
        mine = {job.queue_entry_id for job in going}
        found = {job.queue_entry_id: job for jobs in self.behind.values() for job in jobs}
        return [job for name, job in found.items() if name not in mine]


NO_LINE: Final = Line()
"""Every job is printed alone."""


def line_behind(
    bridge: Bridge,
    tx: Transaction,
    ready: Sequence[WaitingJob],
    going: Sequence[Job],
    stock: Sequence[StockRoll],
    new: Mapping[str, Job] | None = None,
) -> Line:
    """Who may join the jobs that go; nobody where the shop prints no gangs, or the press speaks JMF.

    Args:
        bridge: The bridge.
        tx: A transaction to read in.
        ready: All jobs that may go to a lane, now or later.
        going: Those that go now, on the rolls as they are.
        stock: All rolls as they are.
        new: Jobs that the store does not know yet.
    """
    if bridge.shop.settings.gang is GangRuns.NEVER or not going:
        return NO_LINE
    new = new or {}
    lines: dict[str, list[WaitingJob]] = {}
    for waiting in in_order(ready):
        lines.setdefault(waiting.device_id, []).append(waiting)
    within = timedelta(hours=bridge.shop.settings.gang_due_within_hours)
    named = {
        job.queue_entry_id: behind(job.queue_entry_id, lines[job.device_id], within)
        for job in going
        if bridge.link(job.device_id) is None
    }
    known = {name: new.get(name) or tx.job(name) for names in named.values() for name in names}
    rolls, ahead_mm = {}, given_mm(tx)
    for job in going:
        roll = roll_at_start(job, stock)
        if roll is not None:
            used_mm = ahead_mm.get(job.device_id, 0.0) if roll.device_id == job.device_id else 0.0
            rolls[job.queue_entry_id] = roll.roll.used(used_mm)
        ahead_mm[job.device_id] = ahead_mm.get(job.device_id, 0.0) + job.estimate.roll_length_mm
    return Line(
        {name: tuple(known[one] for one in names) for name, names in named.items()},
        rolls,
        _begins_at(bridge, tx, lines),
    )


def _begins_at(bridge: Bridge, tx: Transaction, device_ids: Iterable[str]) -> dict[str, datetime]:
    """As if each lane had just begun with what it has, which is the latest that can be known."""
    given_s = dict.fromkeys(device_ids, 0.0)
    for load in tx.lane_loads():
        if load.given and load.device_id in given_s:
            given_s[load.device_id] += load.print_s
    now = bridge.now()
    return {device_id: now + timedelta(seconds=seconds) for device_id, seconds in given_s.items()}


def runs_of(bridge: Bridge, going: Sequence[Job], at_hand: Sequence[Job], line: Line) -> Iterator[Gang | Job]:
    """The jobs that go, alone or with those that join them, in order.

    Args:
        bridge: The bridge.
        going: What goes in any case, on the rolls as they are.
        at_hand: All jobs whose artwork may be opened now.
        line: Who may join.
    """
    there = {job.queue_entry_id: job for job in at_hand}
    taken: set[str] = set()
    for job in (one for one in going if one.queue_entry_id in there):
        if job.queue_entry_id in taken:
            continue
        gang = _gang(bridge, job, there, line)
        taken |= set(gang.names) if gang else set()
        yield gang or job


def _gang(bridge: Bridge, first: Job, there: Mapping[str, Job], line: Line) -> Gang | None:
    jobs = [first]
    for job in line.behind.get(first.queue_entry_id, ()):
        if job.queue_entry_id not in there:
            break  # nobody is overtaken, not even by who would be ready
        jobs.append(there[job.queue_entry_id])
    roll = line.rolls.get(first.queue_entry_id)
    if len(jobs) == 1 or roll is None:
        return None
    press, lane = bridge.lanes[first.device_id]
    mode = bridge.shop.print_modes[first.item.print_mode]
    return gang_of(jobs, roll, press, lane, mode, line.begins_at[first.device_id], bridge.experience)
