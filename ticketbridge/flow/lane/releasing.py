"""Waiting jobs to their lanes: the ticket is written, checked, placed; the intention committed; then one rename."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from ticketbridge.decide.gang import Gang
from ticketbridge.decide.layout.blank_advance import blank_advance_mm, waste_percent_beside
from ticketbridge.decide.partners import ALONE, Partnered, with_partners
from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.extract.beside import chunks_of
from ticketbridge.flow.bridge import DISK_THREADS, Bridge, read_world
from ticketbridge.flow.lane.artwork_at_hand import artwork_at_hand, leave_copies, next_in_line, url_at_press
from ticketbridge.flow.lane.flaws import on_their_rolls
from ticketbridge.flow.lane.gangs import NO_LINE, Line, line_behind, runs_of
from ticketbridge.flow.lane.lane_tickets import Placed, gang_ticket, lane_ticket
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.hand_over.deliver import Hold, hand_over, hold_for, place
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_checked, write_ticket
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
from ticketbridge.spool.gates import ShareHangs, ask_each, share_of
from ticketbridge.store.records import Delivery
from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Together:
    """A gang run whose ticket lies ready."""

    gang: Gang
    tickets: Mapping[str, bytes]
    """By member, its ticket as it would be alone: what goes back for it."""


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
    gangs: tuple[Together, ...] = ()
    """The gang runs among them."""


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


def _placed_job(bridge: Bridge, job: Job, gang_name: str | None) -> Placed:
    """The job on its lane. It has a roll: a job without one is never released."""
    assert job.roll is not None  # noqa: S101
    press, lane = bridge.lanes[job.device_id]
    return Placed(
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
    line: Line = NO_LINE,
) -> Prepared:
    """Write the tickets, check them by our own schema, and lay them into the lanes under temporary names.

    Args:
        bridge: The bridge.
        jobs: In the order in which they are handed over. Those whose artwork is not at hand yet are left for later.
        laid_anew: Those whose layout was moved.
        just_read: Queue entries whose artwork was looked at a moment ago.
        partnered: Which of them run side by side.
        line: Which jobs behind them may be printed together with them.
    """
    ready: list[tuple[Hold, bytes]] = []
    at_hand = artwork_at_hand(bridge, [*jobs, *line.besides(jobs)], just_read)
    faulty = [(name, f"{sentence(finding)} {remedy(finding)}") for name, finding in at_hand.spoilt]
    for _, finding in at_hand.spoilt:
        bridge.notice(finding.code, **finding.facts)
    partnered = partnered.only([job.queue_entry_id for job in at_hand.good])
    runs = list(runs_of(bridge, jobs, at_hand.good, line))
    gangs = {}
    tickets = [_tickets_of(bridge, run, partnered) for run in runs]
    checked = bridge.beside.share(write_checked, [whole for whole, *_ in tickets])
    for run, (whole, *alone), written in zip(runs, tickets, checked, strict=True):
        members = run.members if isinstance(run, Gang) else (run,)
        name = whole.queue_entry_id
        if refuses(written.findings):
            why = "; ".join(sentence(finding) for finding in written.findings)
            text = f"The ticket for {name} fails our own schema and was not handed over: {why}"
            faulty += [(job.queue_entry_id, text) for job in members]
            continue
        if isinstance(run, Gang):
            gangs[name] = Together(run, {one.queue_entry_id: as_bytes(write_ticket(one)) for one in alone})
        device_id = members[0].device_id
        names = tuple(job.queue_entry_id for job in members)
        lane = bridge.lane_places(device_id)
        hold = hold_for(name, device_id, lane, bridge.share.writer, names)
        ready.append((hold, written.data))
    placed = _all_placed(bridge, ready)
    together = tuple(gangs[hold.queue_entry_id] for hold in placed if hold.queue_entry_id in gangs)
    printed = [job for run in runs for job in (run.members if isinstance(run, Gang) else (run,))]
    return Prepared(tuple(placed), tuple(faulty), tuple(laid_anew), _beside(printed, partnered), together)


def _tickets_of(bridge: Bridge, run: Gang | Job, partnered: Partnered) -> list[LaneTicket]:
    """The ticket that the lane gets; for a gang followed by those of its members as each would be alone."""
    members = run.members if isinstance(run, Gang) else (run,)
    beside = partnered.gangs.get(members[0].queue_entry_id)
    placed = [_placed_job(bridge, job, beside) for job in members]
    now, version = bridge.now(), bridge.agent_version
    alone = [lane_ticket(one, bridge.shop, now, version) for one in placed]
    if not isinstance(run, Gang):
        return alone
    return [gang_ticket(run, placed, bridge.shop, now, version), *alone]


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


def _all_placed(bridge: Bridge, ready: Sequence[tuple[Hold, bytes]]) -> list[Hold]:
    """Lay tickets into their lanes, durable. A lane whose share hangs gets none of its own."""
    placed: list[Hold] = []
    for device_id in dict.fromkeys(hold.device_id for hold, _ in ready):
        mine = [one for one in ready if one[0].device_id == device_id]
        tickets = mine[0][0].tickets
        try:
            works = [partial(_placed, bridge, *one) for one in mine]
            if share_of(tickets):
                found = ask_each(tickets, works)
            else:
                found = [
                    hold for some in bridge.disk.map(_made, chunks_of(works, DISK_THREADS)) for hold in some
                ]
            holds = [hold for hold in found if hold is not None]
            if holds:
                durable.sync_folder(tickets)
        except ShareHangs as error:
            bridge.lane_is_gone(device_id, error)
        else:
            placed += holds
    return placed


def _made(works: Sequence[Callable[[], Hold | None]]) -> list[Hold | None]:
    return [work() for work in works]


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
    for together in prepared.gangs:
        _join(tx, together)
    tx.intend(
        [Delivery(name, h.device_id, h.temporary_name, h.final_name) for h in holds for name in h.jobs], now
    )
    tx.mark_given([name for hold in holds for name in hold.jobs])
    tx.tell(
        *(
            Event(
                Step.RELEASED,
                now,
                name,
                facts={"device_id": hold.device_id, **prepared.beside.get(name, {}), **_together(hold, name)},
            )
            for hold in holds
            for name in hold.jobs
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


def _join(tx: Transaction, together: Together) -> None:
    """The members of a gang take their share of its time and roll; what each would take alone stays on record."""
    gang = together.gang
    tx.add_gang(gang.name, gang.members, together.tickets)
    for job in gang.members:
        takes = job.estimate
        standing = tx.standing(job.queue_entry_id)
        tx.change_job(standing, print_s=takes.print_s, roll_length_mm=takes.roll_length_mm)


def _together(hold: Hold, name: str) -> dict[str, type_of_fact]:
    """For the history of a gang's member: who is printed with it."""
    others = [one for one in hold.jobs if one != name]
    return {"gang": hold.queue_entry_id, "together_with": ", ".join(others)} if others else {}


def finish(bridge: Bridge, holds: Sequence[Hold]) -> None:
    """The renames, after the intention was committed. What fails now is tried again from the evidence in the next turn.

    A press that speaks JMF is not given its ticket here: the talk with it has its own thread.
    """
    delivered: list[str] = []
    for hold in holds:
        if bridge.link(hold.device_id) is not None:
            continue
        try:
            hand_over(hold)
        except (OSError, durable.PlaceNotReady) as error:
            bridge.lane_is_gone(hold.device_id, error)
            continue
        delivered += hold.jobs
    if delivered:
        with bridge.store.transaction() as tx:
            tx.mark_delivered(delivered)
