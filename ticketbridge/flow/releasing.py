"""Waiting jobs to their lanes: the ticket is written, checked, placed; the intention committed; then one rename."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.flow.artwork_at_hand import artwork_at_hand, leave_copies, next_in_line, url_at_press
from ticketbridge.flow.bridge import Bridge, read_world
from ticketbridge.flow.flaws import on_their_rolls
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.hand_over.deliver import Hold, hand_over, hold_for, place
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.check import check
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.job import WAITS_FOR_ROLL, Job, Standing
from ticketbridge.model.job_states import State, Step
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.order import Item
from ticketbridge.model.queue_state import OPEN
from ticketbridge.model.substrate import LayerStack
from ticketbridge.report.compose import queue_status, trouble
from ticketbridge.spool import durable
from ticketbridge.store.records import Delivery
from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Prepared:
    """Jobs whose tickets lie ready in their lanes, and jobs whose ticket must not leave."""

    holds: tuple[Hold, ...]
    faulty: tuple[tuple[str, str], ...]
    """(queue entry, what is wrong with its artwork, or with the ticket we wrote)."""
    laid_anew: tuple[Job, ...] = ()
    """Jobs among them whose layout was moved, because the roll's flaws lie elsewhere by now."""


def release_waiting(bridge: Bridge) -> bool:
    """Hand over every waiting job that may go now. True where anything was handed over."""
    released = _release(bridge)
    leave_copies(bridge)  # last, so that a job that has just begun to use a copy keeps it
    return released


def _release(bridge: Bridge) -> bool:
    with bridge.store.transaction() as tx:
        waiting = tx.waiting_jobs()
        if not waiting:
            return False
        soon = next_in_line(bridge, tx, waiting)
        world = read_world(bridge, tx)
        going = [tx.job(queue_entry_id) for queue_entry_id in may_go(bridge, waiting, world.states)]
        jobs, laid_anew = on_their_rolls(bridge, tx, going, world.stock)
    artwork_at_hand(bridge, soon)
    if not jobs:
        return False
    prepared = prepare(bridge, jobs, laid_anew)
    with bridge.store.transaction() as tx:
        intend(bridge, tx, prepared)
    finish(bridge, prepared.holds)
    return bool(prepared.holds)


def may_go(bridge: Bridge, waiting: Sequence[Standing], states: Mapping[str, LaneState]) -> tuple[str, ...]:
    """Which of these may be handed over now.

    Not those without a roll, nor those whose substrate or print mode the catalogue has lost since they came, nor
    to a lane with open evidence, nor to one that another bridge serves.
    """
    mine = set(bridge.my_lanes) - bridge.unfinished_lanes
    ready = [
        waiting_job(job)
        for job in waiting
        if job.state is State.WAITING
        and job.status_details != WAITS_FOR_ROLL
        and job.device_id in mine
        and not bridge.queues.get(job.device_id, OPEN).held
        and bridge.shop.knows(job.substrate, job.print_mode)
    ]
    return releases(ready, states, bridge.shop) if ready else ()


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
        position=job.position,
    )


def lane_ticket(bridge: Bridge, job: Job) -> LaneTicket:
    """The job as a ticket for its lane. It has a roll: a job without one is never released."""
    assert job.roll is not None  # noqa: S101
    press, lane = bridge.lanes[job.device_id]
    return LaneTicket(
        queue_entry_id=job.queue_entry_id,
        order=job.order,
        item=_item_at_press(bridge, job),
        substrate=bridge.shop.substrates[job.item.substrate],
        print_mode=bridge.shop.print_modes[job.item.print_mode],
        press=press,
        lane=lane,
        roll=job.roll,
        layout=job.layout,
        estimate=job.estimate,
        at=bridge.now(),
        agent_version=bridge.agent_version,
        marks=marks_on(job.layout, job.item, job.order.job_id, job.queue_entry_id),
    )


def _item_at_press(bridge: Bridge, job: Job) -> Item:
    """The item with its artwork where the press opens it."""
    url = url_at_press(bridge, job)
    if url is None or job.item.artwork is None:
        return job.item
    artwork = job.item.artwork.model_copy(update={"url": url})
    return job.item.model_copy(update={"artwork": artwork})


def prepare(
    bridge: Bridge, jobs: Sequence[Job], laid_anew: Sequence[Job] = (), just_read: Iterable[str] = ()
) -> Prepared:
    """Write the tickets, check them by our own schema, and lay them into the lanes under temporary names.

    Args:
        bridge: The bridge.
        jobs: In the order in which they are handed over. Those whose artwork is not at hand yet are left for later.
        laid_anew: Those whose layout was moved.
        just_read: Queue entries whose artwork was looked at a moment ago.
    """
    ready: list[tuple[Hold, bytes]] = []
    at_hand = artwork_at_hand(bridge, jobs, just_read)
    faulty = [(name, f"{sentence(finding)} {remedy(finding)}") for name, finding in at_hand.spoilt]
    for job in at_hand.good:
        root = write_ticket(lane_ticket(bridge, job))
        findings = check(root, job.queue_entry_id)
        if refuses(findings):
            why = "; ".join(sentence(finding) for finding in findings)
            text = f"The ticket for {job.queue_entry_id} fails our own schema and was not handed over: {why}"
            faulty.append((job.queue_entry_id, text))
            continue
        lane = bridge.lane_places(job.device_id)
        hold = hold_for(job.queue_entry_id, job.device_id, lane, bridge.share.writer)
        ready.append((hold, as_bytes(root)))
    placed = [hold for hold in bridge.disk.map(lambda one: _placed(bridge, *one), ready) if hold is not None]
    for folder in {hold.tickets for hold in placed}:
        durable.sync_folder(folder)
    return Prepared(tuple(placed), tuple(faulty), tuple(laid_anew))


def _placed(bridge: Bridge, hold: Hold, ticket: bytes) -> Hold | None:
    try:
        place(hold, ticket)
    except (OSError, durable.PlaceNotReady) as error:
        bridge.lane_is_gone(hold.device_id, error)
        return None
    return hold


def intend(bridge: Bridge, tx: Transaction, prepared: Prepared) -> None:
    """Commit the intention to deliver, and hold back what must not leave."""
    now = bridge.now()
    holds = prepared.holds
    for moved in prepared.laid_anew:
        tx.judge_again(tx.standing(moved.queue_entry_id), moved)
        facts = {"roll_length_mm": moved.estimate.roll_length_mm}
        tx.tell(Event("laid out anew", now, moved.queue_entry_id, facts=facts))
    tx.intend(
        [Delivery(h.queue_entry_id, h.device_id, h.temporary_name, h.final_name) for h in holds],
        now,
    )
    tx.mark_given([hold.queue_entry_id for hold in holds])
    tx.tell(
        *(
            Event(Step.RELEASED, now, hold.queue_entry_id, facts={"device_id": hold.device_id})
            for hold in holds
        )
    )
    for queue_entry_id, reason in prepared.faulty:
        job = tx.standing(queue_entry_id)
        tx.change_job(job, state=State.HELD, status_details="JobHeld")
        held = tx.standing(queue_entry_id)
        tx.tell(Event(Step.HELD, now, queue_entry_id, facts={"reason": reason}))
        report(
            bridge,
            tx,
            job.source,
            [
                trouble(held, "Error", "TicketHeld", reason, now),
                queue_status(job.device_id, [held], queue_size(tx, job.device_id)),
            ],
        )


def finish(bridge: Bridge, holds: Sequence[Hold]) -> None:
    """The renames, after the intention was committed. What fails now is tried again from the evidence.

    A press that speaks JMF is not given its ticket here: the talk with it has its own thread.
    """
    delivered = []
    for hold in holds:
        if bridge.link(hold.device_id) is not None:
            continue
        try:
            hand_over(hold)
        except (OSError, durable.PlaceNotReady) as error:
            bridge.notice(
                "lane.not-ready", device_id=hold.device_id, folder=str(hold.tickets), reason=str(error)
            )
            continue
        delivered.append(hold.queue_entry_id)
    if delivered:
        with bridge.store.transaction() as tx:
            tx.mark_delivered(delivered)
