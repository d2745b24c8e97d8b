"""Claimed files to jobs, refusals and repeats: read, decide, commit once, then move the files.

A whole batch shares its commits and its folder syncs, so that a burst does not pay them ticket by ticket.
"""

from collections.abc import Sequence
from dataclasses import replace

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.submitted import is_resubmitted
from ticketbridge.decide.partners import Partnered
from ticketbridge.flow.bridge import Bridge, World, read_world
from ticketbridge.flow.intake.mappings import mapping_version
from ticketbridge.flow.intake.outcome import OrderOutcome, Outcome
from ticketbridge.flow.intake.outcomes import outcomes_of
from ticketbridge.flow.intake.reading import NOTHING_AHEAD, Ahead, is_new_ticket, read_all
from ticketbridge.flow.intake.resubmitting import resubmit
from ticketbridge.flow.intake.submitted_to_us import note_submission, tell_submitter
from ticketbridge.flow.intake.waiting import put_to_wait
from ticketbridge.flow.lane.delivering import finish, intend
from ticketbridge.flow.lane.flaws import on_their_rolls
from ticketbridge.flow.lane.gangs import Line, line_behind
from ticketbridge.flow.lane.preparing import prepare
from ticketbridge.flow.lane.releasing import able_to_go, may_go
from ticketbridge.flow.moving_out import move_out
from ticketbridge.flow.queue.changing import plan_anew
from ticketbridge.flow.queue.control import control
from ticketbridge.flow.reporting import report
from ticketbridge.flow.taking import Taken
from ticketbridge.hand_over.deliver import withdraw
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Job, Standing, first_details
from ticketbridge.model.job_states import State, Step
from ticketbridge.report.compose import accepted, planned_anew, queue_status, refused, repeated, trouble
from ticketbridge.spool import durable
from ticketbridge.store.records import AlreadyThere, Intake, QueueSize, StateMoved
from ticketbridge.store.transaction import Transaction


def accept(bridge: Bridge, batch: Sequence[Claimed], ahead: Ahead = NOTHING_AHEAD) -> list[Claimed]:
    """Take a batch in, as far as it was read ahead from there. Returns the files left for the next turn.

    A file that revises a job made earlier in the same batch waits for the next turn, when the store knows
    that job. Messages come after the tickets of their batch, whose jobs they may name.
    """
    tickets = [claimed for claimed in batch if is_new_ticket(claimed)]
    later = _accept_tickets(bridge, tickets, ahead) if tickets else []
    messages = [claimed for claimed in batch if not is_new_ticket(claimed)]
    if later:
        return [*later, *messages]
    for claimed in messages:
        if is_resubmitted(claimed.claim_id):
            resubmit(bridge, claimed)
        else:
            control(bridge, claimed)
    return []


def _accept_tickets(bridge: Bridge, batch: Sequence[Claimed], ahead: Ahead) -> list[Claimed]:
    try:
        return _decide_and_commit(bridge, batch, ahead)
    except (AlreadyThere, StateMoved):
        if bridge.share.names is None:
            raise
        return _decide_and_commit(bridge, batch, ahead)  # another bridge was quicker: its work is seen now


def _decide_and_commit(bridge: Bridge, batch: Sequence[Claimed], ahead: Ahead) -> list[Claimed]:
    files = read_all(bridge, batch, ahead)
    with bridge.store.reading() as tx:
        world = read_world(bridge, tx)
        found = outcomes_of(bridge, tx, files, world)
        outcomes = found.outcomes
        jobs, laid_anew, partnered, line = _going(bridge, tx, outcomes, world)
    new = {job.queue_entry_id for outcome in outcomes for job in outcome.jobs}
    prepared = prepare(bridge, jobs, laid_anew, just_read=new, partnered=partnered, line=line)
    try:
        with bridge.store.transaction() as tx:
            _commit(bridge, tx, outcomes)
            intend(bridge, tx, prepared)
    except (AlreadyThere, StateMoved):
        for hold in prepared.holds:
            withdraw(bridge.lane_places(hold.device_id), hold.temporary_name)
        raise
    _tell_growth(bridge, [outcome.taken for outcome in outcomes])
    for outcome in outcomes:  # before the hand-over: a press may open artwork at once where it lies for good
        move_out(bridge, outcome.taken.claimed, outcome.place, outcome.findings)
        tell_submitter(bridge, outcome.taken.claimed.claim_id, outcome.submitted)
    finish(bridge, prepared.holds)
    for claimed, missing in found.waits:
        put_to_wait(bridge, claimed, missing)
    return found.later


def _tell_growth(bridge: Bridge, taken: Sequence[Taken]) -> None:
    """A writer may have kept the file open, and a rename does not stop it: what came after we read is told."""
    limit = bridge.shop.settings.limits.ticket_bytes
    for one in taken:
        read_bytes = 0 if one.content.pdf is not None else one.content.size_bytes
        more = durable.size(one.claimed.path) - read_bytes
        if more <= 0 or not 0 < read_bytes <= limit:
            continue
        now, name = bridge.now(), one.claimed.original_name
        finding = Finding("intake.grew", Place(name), {"name": name, "more_bytes": more})
        bridge.notice(finding.code, **finding.facts)
        text = f"{sentence(finding)} {remedy(finding)}"
        with bridge.store.transaction() as tx:
            report(
                bridge, tx, one.claimed.source_id, [trouble(None, "Warning", "FileStillWritten", text, now)]
            )


def _going(
    bridge: Bridge, tx: Transaction, outcomes: Sequence[Outcome], world: World
) -> tuple[list[Job], list[Job], Partnered, Line]:
    """The jobs that may be handed over once the batch is taken in, of those that waited and of the new ones.

    With those among them that were laid out anew, who runs beside them, and who stands behind them.
    """
    new = {job.queue_entry_id: job for outcome in outcomes if not outcome.held for job in outcome.jobs}
    orders = [order for outcome in outcomes for order in outcome.orders]
    changed = [one for order in orders for one in (*order.replaced, *(p.standing for p in order.planned))]
    gone = {standing.queue_entry_id for standing in changed}
    waiting = [job for job in tx.waiting_jobs() if job.queue_entry_id not in gone]
    fresh = [_standing_of(job) for job in new.values() if not job.held]
    partnered = may_go(bridge, waiting + fresh, world.states)
    going = partnered.going
    older = [tx.job(name) for name in sorted(set(going) - new.keys())]
    mine = older + [job for name, job in new.items() if name in going]
    jobs, laid_anew = on_their_rolls(bridge, tx, mine, world.stock)
    line = line_behind(bridge, tx, able_to_go(bridge, waiting + fresh), jobs, world.stock, new)
    return jobs, laid_anew, partnered, line


def _commit(bridge: Bridge, tx: Transaction, outcomes: Sequence[Outcome]) -> None:
    """Everything that the batch changes, in one transaction with the messages about it."""
    now = bridge.now()
    if not outcomes:
        return
    tx.record_intakes(
        [
            Intake(
                o.taken.claimed.claim_id,
                o.taken.claimed.source_id,
                o.taken.claimed.original_name,
                o.place,
                o.taken.content.sha256,
                o.findings,
            )
            for o in outcomes
        ],
        now,
    )
    for order in (order for outcome in outcomes for order in outcome.orders):
        for standing in order.replaced:
            tx.change_job(standing, state=State.REMOVED, ended_at=now)
            facts = {"by": order.in_place_of(standing)}
            tx.tell(Event(Step.REPLACED, now, standing.queue_entry_id, facts=facts))
    for outcome, order in [(one, order) for one in outcomes for order in one.orders]:
        for planning in order.planned:
            plan_anew(bridge, tx, planning, outcome.taken.claimed.claim_id)
    jobs = [job for outcome in outcomes for job in outcome.jobs]
    tx.add_jobs(jobs)
    tx.tell(
        *(
            Event(
                "accepted",
                now,
                job.queue_entry_id,
                facts={
                    "claim_id": job.claim_id,
                    "revision": job.revision,
                    "mapping": mapping_version(bridge, job.order.source),
                },
            )
            for job in jobs
        )
    )
    for source_id in {outcome.taken.claimed.source_id for outcome in outcomes}:
        mine = [outcome for outcome in outcomes if outcome.taken.claimed.source_id == source_id]
        report(bridge, tx, source_id, _messages(bridge, tx, mine))
    for outcome in outcomes:
        if outcome.taken.submission is not None:
            claim_id = outcome.taken.claimed.claim_id
            note_submission(bridge, tx, claim_id, outcome.taken.submission, outcome.jobs)


def _messages(bridge: Bridge, tx: Transaction, outcomes: Sequence[Outcome]) -> list[Element]:
    """One notification for each order, then one change of the queue for each lane it touched."""
    now = bridge.now()
    messages: list[Element] = []
    changed: dict[str, list[Standing]] = {}
    for outcome, order in [(one, order) for one in outcomes for order in one.orders]:
        name = _name_of(outcome, order)
        job_id = order.job_id
        messages += [refused(name, findings, job_id, now, part) for part, findings in order.refusals()]
        messages += [repeated(job_id or "", stands, name, now) for stands in order.stands]
        for planning in order.planned:
            standing = tx.standing(planning.standing.queue_entry_id)
            messages.append(planned_anew(standing, name, now))
            changed.setdefault(standing.device_id, []).append(standing)
        for old in order.replaced:
            removed = replace(old, state=State.REMOVED, ended_at=now)
            changed.setdefault(old.device_id, []).append(removed)
        for job in order.jobs:
            standing = _standing_of(job)
            messages.append(accepted(standing, bridge.lanes[job.device_id][1].name, now))
            changed.setdefault(job.device_id, []).append(standing)
    sizes = tx.queue_sizes() if changed else {}
    messages += [
        queue_status(device_id, entries, sizes.get(device_id, QueueSize()))
        for device_id, entries in sorted(changed.items())
    ]
    return messages


def _name_of(outcome: Outcome, order: OrderOutcome) -> str:
    """The file, and which order of it where it holds several."""
    file_name = outcome.taken.claimed.original_name
    if len(outcome.orders) == 1:
        return file_name
    line = next((finding.place.line for finding in order.findings if finding.place.line), None)
    return f"{file_name}, order {order.job_id}" if order.job_id else f"{file_name}, line {line}"


def _standing_of(job: Job) -> Standing:
    """Where a job stands that was just made."""
    item = job.item
    return Standing(
        queue_entry_id=job.queue_entry_id,
        number=job.number,
        source=job.order.source,
        job_id=job.order.job_id,
        job_part_id=item.job_part_id,
        revision=job.revision,
        state=State.HELD if job.held else State.WAITING,
        phase="Waiting",
        status_details=first_details(job),
        device_id=job.device_id,
        given=False,
        priority=job.order.priority,
        due=job.order.due,
        substrate=item.substrate,
        print_mode=item.print_mode,
        layer_stack=item.layer_stack.value,
        quantity=item.quantity,
        print_s=job.estimate.print_s,
        roll_length_mm=job.estimate.roll_length_mm,
        amount=0,
        waste=0,
        submitted_at=job.submitted_at,
        started_at=None,
        ended_at=None,
    )
