"""ResubmitQueueEntry: another ticket takes the place of the one in the queue; entry, state and place stay."""

from dataclasses import replace

from ticketbridge.accept.claim import Claimed
from ticketbridge.flow.bridge import Bridge, read_world
from ticketbridge.flow.intake.outcome import Outcome
from ticketbridge.flow.intake.outcomes import outcomes_of
from ticketbridge.flow.intake.reading import read_all
from ticketbridge.flow.intake.submitted_to_us import Submitted, tell_submitter
from ticketbridge.flow.moving_out import ACCEPTED, REFUSED, REPEATED, move_out
from ticketbridge.flow.queue.commanding import refusal
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.flow.taking import Taken
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Job, Standing
from ticketbridge.model.queue_messages import EntryMessage, outcome
from ticketbridge.model.return_codes import ReturnCode
from ticketbridge.model.submission import Submission
from ticketbridge.report.compose import queue_status
from ticketbridge.store.records import Intake
from ticketbridge.store.transaction import Transaction


def resubmit(bridge: Bridge, dropped: Claimed) -> None:
    """Read the ticket, judge it, and put it in the place of the other: one transaction, then the file moves on."""
    for file in read_all(bridge, [dropped]):
        claimed, submission = file.taken.claimed, file.taken.submission
        assert submission is not None  # noqa: S101  its name says that it has one
        with bridge.store.transaction() as tx:
            entry = tx.find_standing(submission.resubmits or "")
            world = read_world(bridge, tx)
            [found] = outcomes_of(bridge, tx, [file], world).outcomes
            submitted, renewed = _judged(claimed.source_id, entry, submission, found)
        with bridge.store.transaction() as tx:
            _record(bridge, tx, file.taken, submitted)
            tx.add_submission(claimed.claim_id, submission)
            for standing, job in renewed:
                _renew(bridge, tx, standing, job, submission)
        move_out(bridge, claimed, submitted.place, submitted.findings)
        tell_submitter(bridge, claimed.claim_id, submitted)


def _judged(
    source_id: str, entry: Standing | None, submission: Submission, found: Outcome
) -> tuple[Submitted, list[tuple[Standing, Job]]]:
    """What becomes of it, and which entries get which new content."""
    place = Place(found.taken.claimed.original_name)
    name = submission.resubmits or ""
    if entry is None or entry.source != source_id:
        unknown = Finding("request.unknown-job", place, {"queue_entry_id": name})
        return Submitted(REFUSED, (*found.findings, unknown), ()), []
    cell = outcome(entry, EntryMessage.RESUBMIT)
    if isinstance(cell, ReturnCode):
        why = replace(refusal(entry, EntryMessage.RESUBMIT, cell), place=place)
        return Submitted(REFUSED, (*found.findings, why), ()), []
    if found.place == REPEATED and name in found.submitted.queue_entry_ids:
        return Submitted(REPEATED, found.findings, (name,)), []
    if found.place != ACCEPTED:
        return Submitted(REFUSED, found.findings, ()), []
    replaced = {job.job_part_id: job for order in found.orders for job in order.replaced}
    renewed = [
        (replaced[job.item.job_part_id], job) for job in found.jobs if job.item.job_part_id in replaced
    ]
    if len(renewed) != len(found.jobs) or name not in {standing.queue_entry_id for standing, _ in renewed}:
        facts = {"queue_entry_id": name, "job_id": entry.job_id, "part": entry.job_part_id}
        other = Finding("queue.other-job", place, facts)
        return Submitted(REFUSED, (*found.findings, other), ()), []
    return Submitted(ACCEPTED, found.findings, (name,)), renewed


def _record(bridge: Bridge, tx: Transaction, taken: Taken, submitted: Submitted) -> None:
    claimed = taken.claimed
    intake = Intake(
        claimed.claim_id,
        claimed.source_id,
        claimed.original_name,
        submitted.place,
        taken.content.sha256,
        submitted.findings,
    )
    tx.record_intakes([intake], bridge.now())


def _renew(bridge: Bridge, tx: Transaction, standing: Standing, job: Job, submission: Submission) -> None:
    tx.renew_job(standing, job)
    name = standing.queue_entry_id
    facts = {"claim_id": job.claim_id, "revision": job.revision}
    tx.tell(Event("resubmitted", bridge.now(), name, submission.sender_id[:63], facts))
    changed = tx.standing(name)
    size = queue_size(tx, changed.device_id)
    report(bridge, tx, standing.source, [queue_status(changed.device_id, [changed], size)])
