"""Waiting jobs to their lanes: which may go now. Their tickets are prepared, and then delivered."""

from collections.abc import Mapping, Sequence

from ticketbridge.decide.partners import ALONE, Partnered, with_partners
from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.flow.bridge import Bridge, read_world
from ticketbridge.flow.lane.artwork_at_hand import artwork_at_hand, leave_copies, next_in_line
from ticketbridge.flow.lane.delivering import finish, intend
from ticketbridge.flow.lane.flaws import on_their_rolls
from ticketbridge.flow.lane.gangs import line_behind
from ticketbridge.flow.lane.preparing import prepare
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.model.event import Event
from ticketbridge.model.job import WAITS_FOR_PARTNER, WAITS_FOR_ROLL, Standing, as_text
from ticketbridge.model.job_states import State
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.queue_state import OPEN
from ticketbridge.model.substrate import LayerStack
from ticketbridge.report.compose import queue_status


def release_waiting(bridge: Bridge) -> bool:
    """Hand over every waiting job that may go now. True where anything was handed over."""
    released = _release(bridge)
    leave_copies(bridge)  # last, so that a job that has just begun to use a copy keeps it
    return released


def _release(bridge: Bridge) -> bool:
    with bridge.store.reading() as tx:
        waiting = tx.waiting_jobs()
        if not waiting:
            return False
        soon = next_in_line(bridge, tx, waiting)
        world = read_world(bridge, tx)
        partnered = may_go(bridge, waiting, world.states)
        going = [tx.job(queue_entry_id) for queue_entry_id in partnered.going]
        jobs, laid_anew = on_their_rolls(bridge, tx, going, world.stock)
        line = line_behind(bridge, tx, able_to_go(bridge, waiting), jobs, world.stock)
    _tell_waits(bridge, waiting, partnered)
    artwork_at_hand(bridge, soon)
    if not jobs:
        return False
    prepared = prepare(bridge, jobs, laid_anew, partnered=partnered, line=line)
    with bridge.store.transaction() as tx:
        intend(bridge, tx, prepared)
    finish(bridge, prepared.holds)
    return bool(prepared.holds)


def able_to_go(bridge: Bridge, waiting: Sequence[Standing]) -> list[WaitingJob]:
    """The jobs that stand in line for a lane of this bridge: those that ``may_go`` chooses among."""
    mine = set(bridge.my_lanes) - bridge.unfinished_lanes
    return [
        waiting_job(job)
        for job in waiting
        if job.state is State.WAITING
        and job.status_details != WAITS_FOR_ROLL
        and job.device_id in mine
        and not bridge.queues.get(job.device_id, OPEN).held
        and bridge.shop.knows(job.substrate, job.print_mode)
    ]


def may_go(bridge: Bridge, waiting: Sequence[Standing], states: Mapping[str, LaneState]) -> Partnered:
    """Which of these may be handed over now.

    Not those without a roll, nor those whose substrate or print mode the catalogue has lost since they came, nor
    to a lane with open evidence, nor to one that another bridge serves. Those that had better wait for a partner
    are left out, and named.
    """
    ready = able_to_go(bridge, waiting)
    if not ready:
        return ALONE
    released = releases(ready, states, bridge.shop)
    return with_partners(released, ready, states, bridge.shop, bridge.now())


def _tell_waits(bridge: Bridge, waiting: Sequence[Standing], partnered: Partnered) -> None:
    """A job that begins to wait for a partner says so, and until when."""
    begin = [
        job
        for job in waiting
        if job.queue_entry_id in partnered.waits and job.status_details != WAITS_FOR_PARTNER
    ]
    if not begin:
        return
    with bridge.store.transaction() as tx:
        for job in begin:
            tx.change_job(job, status_details=WAITS_FOR_PARTNER)
            facts = {"until": as_text(partnered.waits[job.queue_entry_id])}
            tx.tell(Event("waits for partner", bridge.now(), job.queue_entry_id, facts=facts))
            changed = tx.standing(job.queue_entry_id)
            size = queue_size(tx, job.device_id)
            report(bridge, tx, job.source, [queue_status(job.device_id, [changed], size)])


def waiting_job(job: Standing) -> WaitingJob:
    """What the choice of the next job needs to know."""
    return WaitingJob(
        queue_entry_id=job.queue_entry_id,
        device_id=job.device_id,
        priority=job.priority,
        due=job.due,
        number=job.number,
        print_mode=job.print_mode,
        layer_stack=LayerStack(job.layer_stack),
        substrate=job.substrate,
        plan_position=job.plan_position,
        position=job.position,
        submitted_at=job.submitted_at,
        print_s=job.print_s,
    )
