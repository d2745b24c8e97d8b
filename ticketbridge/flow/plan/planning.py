"""A plan put into force: waiting jobs in its order and on its lanes. What a press has is never moved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from ticketbridge.decide.plan.search import Budget
from ticketbridge.decide.plan.shop_plan import MOST_JOBS, PlannedShop, plan_shop
from ticketbridge.decide.plan.shop_problem import Queued, ShopNow
from ticketbridge.decide.route import Judged, judge_lanes
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.model.event import BRIDGE, Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import WAITS_FOR_ROLL, Job, Standing
from ticketbridge.model.job_states import AT_LANE, State
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.layout import Layout
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.request import Request
from ticketbridge.model.shop import PlanBy, Shop
from ticketbridge.model.verdict import Answer
from ticketbridge.report.compose import queue_status
from ticketbridge.store.records import StateMoved
from ticketbridge.store.transaction import Transaction

BY_ITSELF: Final = Budget(steps=3_000)
"""While the bridge plans, it moves no job; so it plans when nothing else is to do, and not for long."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the plan has a job."""

    queue_entry_id: str
    device_id: str
    position: int


def shop_now(
    tx: Transaction,
    shop: Shop,
    now: datetime,
    closed: frozenset[str] = frozenset(),
    experience: Experience = NOTHING_LEARNED,
) -> tuple[ShopNow, dict[str, str]]:
    """The shop as the store has it, ready to be planned, and the jobs that are left out, each with its code.

    Jobs of the highest priority, then those due first, are planned; the rest have their turn later.
    """
    open_jobs = tx.open_jobs()
    waiting = [job for job in open_jobs if job.state is State.WAITING and not job.given]
    left_out = {job.queue_entry_id: "plan.no-roll" for job in waiting if job.status_details == WAITS_FOR_ROLL}
    ready = sorted((job for job in waiting if job.queue_entry_id not in left_out), key=_most_urgent)
    left_out |= {job.queue_entry_id: "plan.later" for job in ready[MOST_JOBS:]}
    given = [job for job in open_jobs if job.given and job.state in AT_LANE]
    facts = ShopNow(
        shop=shop,
        waiting=[Queued(job, tx.job(job.queue_entry_id)) for job in ready[:MOST_JOBS]],
        given=[Queued(job, tx.job(job.queue_entry_id)) for job in given],
        rolls=tx.rolls(),
        shelf=tx.shelf(),
        now=now,
        zone=ZoneInfo(shop.settings.time_zone),
        closed=closed | {device_id for device_id, queue in tx.queue_states().items() if queue.held},
        experience=experience,
    )
    return facts, left_out


def _most_urgent(job: Standing) -> tuple[int, bool, float, int]:
    return (-job.priority, job.due is None, job.due.timestamp() if job.due else 0.0, job.number)


def places_in(planned: PlannedShop) -> list[Place]:
    """The places of the jobs that can still be moved, counted through the whole shop by the clock."""
    jobs = [job for job in planned.plan.jobs if not job.given]
    jobs.sort(key=lambda job: (job.changes_at, job.block, job.starts_at, job.device_id))
    return [Place(job.queue_entry_id, job.device_id, number) for number, job in enumerate(jobs, start=1)]


def accept_plan(bridge: Bridge, request: Request, request_id: str) -> tuple[Finding, ...]:
    """Put the plan that a person saw into force: ``args["places"]`` holds (queue entry, lane) in its order."""
    places = [
        Place(str(name), str(device_id), number)
        for number, (name, device_id) in enumerate(request.args.get("places", ()), start=1)
    ]
    with bridge.store.transaction() as tx:
        if not tx.is_new_message("request", request_id, bridge.now()):
            return (Finding("plan.accepted", facts={"planned": len(places), "moved": 0}),)
        return put_into_force(bridge, tx, places, request.who)


def plan_by_itself(bridge: Bridge) -> bool:
    """Plan and follow the plan, where the shop lets the bridge do so and something has changed. True where it did."""
    if bridge.shop.settings.plan is not PlanBy.ITSELF or not bridge.plan_is_old:
        return False
    bridge.plan_is_old = False
    with bridge.store.transaction() as tx:
        closed = frozenset(bridge.unfinished_lanes)
        facts, _ = shop_now(tx, bridge.shop, bridge.now(), closed, bridge.experience)
    if not facts.waiting:
        return False
    planned = plan_shop(facts, BY_ITSELF)
    with bridge.store.transaction() as tx:
        put_into_force(bridge, tx, places_in(planned), BRIDGE)
    return True


def put_into_force(bridge: Bridge, tx: Transaction, places: Sequence[Place], who: str) -> tuple[Finding, ...]:
    """Give the jobs their positions and lanes, as a part of this transaction, and tell the MIS which moved."""
    moved: list[tuple[Standing, Standing]] = []
    passed_over = []
    states = {device_id: LaneState(roll=roll) for device_id, roll in tx.rolls().items()}
    planned = 0
    for place in places:
        job = tx.find_standing(place.queue_entry_id)
        if job is None or job.state is not State.WAITING or job.given:
            passed_over.append(Finding("plan.passed-over", facts={"queue_entry_id": place.queue_entry_id}))
            continue
        elsewhere = job.device_id != place.device_id
        try:
            if elsewhere and not _moved(bridge, tx, job, place.device_id, states, who):
                raise StateMoved(f"{place.device_id} cannot take {job.queue_entry_id} any more")
            if job.plan_position != place.position:
                tx.change_job(job, plan_position=place.position)
        except StateMoved:  # another bridge, or the world, was quicker
            passed_over.append(Finding("plan.passed-over", facts={"queue_entry_id": job.queue_entry_id}))
            continue
        if elsewhere:
            moved.append((job, tx.standing(job.queue_entry_id)))
        planned += 1
    _tell(bridge, tx, moved)
    if (
        who != BRIDGE
    ):  # of its own plans there may be hundreds a day; what they move stands in the jobs' histories
        told: dict[str, Any] = {"planned": planned, "moved": len(moved)}
        tx.tell(Event("plan accepted", bridge.now(), who=who, facts=told))
    return (Finding("plan.accepted", facts={"planned": planned, "moved": len(moved)}), *passed_over)


def _moved(
    bridge: Bridge,
    tx: Transaction,
    standing: Standing,
    device_id: str,
    states: Mapping[str, LaneState],
    who: str,
) -> bool:
    """Lay the job out for another lane. False where that lane cannot take it now."""
    job = tx.job(standing.queue_entry_id)
    judged = judge_lanes(
        job.item, job.order, bridge.shop, states, bridge.now(), None, tx.shelf(), bridge.experience
    )
    there = next((one for one in judged if one.lane.device_id == device_id), None)
    again = _on_lane(job, there, judged) if there is not None else None
    if again is None:
        return False
    tx.judge_again(standing, again)
    facts = {"device_id": device_id, "before": standing.device_id}
    tx.tell(Event("moved by the plan", bridge.now(), standing.queue_entry_id, who, facts))
    return True


def _on_lane(job: Job, there: Judged, judged: Sequence[Judged]) -> Job | None:
    if (
        there.verdict.answer is Answer.NEVER
        or there.roll is None
        or there.estimate is None
        or not isinstance(there.layout, Layout)
    ):
        return None
    return replace(
        job,
        device_id=there.lane.device_id,
        roll=there.roll.roll,
        layout=there.layout,
        judged=tuple(one.verdict for one in judged),
        estimate=there.estimate,
    )


def _tell(bridge: Bridge, tx: Transaction, moved: Sequence[tuple[Standing, Standing]]) -> None:
    """A lane is a queue of its own to the MIS: a job that moves leaves one and joins another."""
    for source in sorted({job.source for job, _ in moved}):
        leaves: dict[str, list[Standing]] = {}
        joins: dict[str, list[Standing]] = {}
        for before, after in moved:
            if before.source == source:
                leaves.setdefault(before.device_id, []).append(replace(before, state=State.REMOVED))
                joins.setdefault(after.device_id, []).append(after)
        messages = [
            queue_status(device_id, entries, queue_size(tx, device_id))
            for changes in (leaves, joins)
            for device_id, entries in sorted(changes.items())
        ]
        report(bridge, tx, source, messages)
