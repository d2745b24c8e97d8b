"""Waiting jobs to their lanes: the ticket is written, checked, placed; the intention committed; then one rename."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from ticketbridge.decide.layout.blank_advance import blank_advance_mm, waste_percent_beside
from ticketbridge.decide.partners import ALONE, Partnered, with_partners
from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.flow.artwork_at_hand import artwork_at_hand, leave_copies, next_in_line, url_at_press
from ticketbridge.flow.bridge import Bridge, read_world
from ticketbridge.flow.flaws import on_their_rolls
from ticketbridge.flow.lane_tickets import Placed, lane_ticket
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.hand_over.deliver import Hold, hand_over, hold_for, place
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.check import check
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.job import WAITS_FOR_PARTNER, WAITS_FOR_ROLL, Job, Standing, as_text
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
    beside: Mapping[str, Mapping[str, type_of_fact]] = field(default_factory=dict)
    """By job that runs beside another: which one, and what that costs its roll, for its history."""


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
        partnered = may_go(bridge, waiting, world.states)
        _tell_waits(bridge, tx, waiting, partnered)
        going = [tx.job(queue_entry_id) for queue_entry_id in partnered.going]
        jobs, laid_anew = on_their_rolls(bridge, tx, going, world.stock)
    artwork_at_hand(bridge, soon)
    if not jobs:
        return False
    prepared = prepare(bridge, jobs, laid_anew, partnered=partnered)
    with bridge.store.transaction() as tx:
        intend(bridge, tx, prepared)
    finish(bridge, prepared.holds)
    return bool(prepared.holds)


def may_go(bridge: Bridge, waiting: Sequence[Standing], states: Mapping[str, LaneState]) -> Partnered:
    """Which of these may be handed over now.

    Not those without a roll, nor those whose substrate or print mode the catalogue has lost since they came, nor
    to a lane with open evidence, nor to one that another bridge serves. Those that had better wait for a partner
    are left out, and named.
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
    if not ready:
        return ALONE
    released = releases(ready, states, bridge.shop)
    return with_partners(released, ready, states, bridge.shop, bridge.now())


def _tell_waits(bridge: Bridge, tx: Transaction, waiting: Sequence[Standing], partnered: Partnered) -> None:
    """A job that begins to wait for a partner says so, and until when."""
    for job in waiting:
        until = partnered.waits.get(job.queue_entry_id)
        if until is None or job.status_details == WAITS_FOR_PARTNER:
            continue
        tx.change_job(job, status_details=WAITS_FOR_PARTNER)
        facts = {"until": as_text(until)}
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


def _lane_ticket(bridge: Bridge, job: Job, gang_name: str | None) -> LaneTicket:
    """The job as a ticket for its lane. It has a roll: a job without one is never released."""
    assert job.roll is not None  # noqa: S101
    press, lane = bridge.lanes[job.device_id]
    placed = Placed(
        job.queue_entry_id,
        job.order,
        _item_at_press(bridge, job),
        press,
        lane,
        job.roll,
        job.layout,
        job.estimate,
        gang_name,
    )
    return lane_ticket(placed, bridge.shop, bridge.now(), bridge.agent_version)


def _item_at_press(bridge: Bridge, job: Job) -> Item:
    """The item with its artwork where the press opens it."""
    url = url_at_press(bridge, job)
    if url is None or job.item.artwork is None:
        return job.item
    artwork = job.item.artwork.model_copy(update={"url": url})
    return job.item.model_copy(update={"artwork": artwork})


def prepare(
    bridge: Bridge,
    jobs: Sequence[Job],
    laid_anew: Sequence[Job] = (),
    just_read: Iterable[str] = (),
    partnered: Partnered = ALONE,
) -> Prepared:
    """Write the tickets, check them by our own schema, and lay them into the lanes under temporary names.

    Args:
        bridge: The bridge.
        jobs: In the order in which they are handed over. Those whose artwork is not at hand yet are left for later.
        laid_anew: Those whose layout was moved.
        just_read: Queue entries whose artwork was looked at a moment ago.
        partnered: Which of them run side by side.
    """
    ready: list[tuple[Hold, bytes]] = []
    at_hand = artwork_at_hand(bridge, jobs, just_read)
    faulty = [(name, f"{sentence(finding)} {remedy(finding)}") for name, finding in at_hand.spoilt]
    for _, finding in at_hand.spoilt:
        bridge.notice(finding.code, **finding.facts)
    partnered = partnered.only([job.queue_entry_id for job in at_hand.good])
    for job in at_hand.good:
        root = write_ticket(_lane_ticket(bridge, job, partnered.gangs.get(job.queue_entry_id)))
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
    return Prepared(tuple(placed), tuple(faulty), tuple(laid_anew), _beside(at_hand.good, partnered))


def _beside(jobs: Sequence[Job], partnered: Partnered) -> dict[str, dict[str, type_of_fact]]:
    """What running side by side costs each roll, should nothing follow on the shorter lane meanwhile."""
    by_name = {job.queue_entry_id: job for job in jobs}
    found: dict[str, dict[str, type_of_fact]] = {}
    for job in jobs:
        others = partnered.beside(job.queue_entry_id)
        if others:
            longest = max((by_name[name].layout for name in others), key=lambda layout: layout.length_mm)
            found[job.queue_entry_id] = {
                "beside": ", ".join(others),
                "blank_advance_mm": blank_advance_mm(job.layout, longest),
                "waste_percent": round(waste_percent_beside(job.layout, longest), 1),
            }
    return found


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
            Event(
                Step.RELEASED,
                now,
                hold.queue_entry_id,
                facts={"device_id": hold.device_id, **prepared.beside.get(hold.queue_entry_id, {})},
            )
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
