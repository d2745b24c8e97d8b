"""Tickets that an MIS submits to the bridge by message: what the message said bears on what becomes of them.

The other way, from the bridge to a press, is ``flow.press.submitted_to_press``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ticketbridge.accept.claim import split_attempts
from ticketbridge.decide.route import choose
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.deciding import Decided
from ticketbridge.flow.intake.memory import Memory
from ticketbridge.flow.queue.changing import about_a_job
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Job
from ticketbridge.model.job_states import State
from ticketbridge.model.queue_state import OPEN
from ticketbridge.model.request import Request, Wish
from ticketbridge.model.submission import Submission
from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Submitted:
    """What became of a submitted ticket.

    Attributes:
        place: The folder that holds it.
        findings: Everything found in it.
        queue_entry_ids: The entries that stand for it: new ones, or those that say the same already.
    """

    place: str
    findings: tuple[Finding, ...]
    queue_entry_ids: tuple[str, ...]


def tell_submitter(bridge: Bridge, claim_id: str, submitted: Submitted) -> None:
    """Whoever waits for this ticket hears of it; the commit must be over, as a positive answer is a promise."""
    waiting = bridge.awaited.pop(split_attempts(claim_id)[0], None)
    if waiting is not None:
        waiting(submitted)


def as_submitted(
    bridge: Bridge,
    memory: Memory,
    submission: Submission | None,
    decided: Decided,
    file: str,
    full: frozenset[str],
) -> Decided:
    """The decision with what the message said: its lane, its priority, and that nothing known is changed by it.

    What says the same as a job that stands is left alone: it is answered like the first time.
    """
    order = decided.order
    if order is None or decided.refused:
        return decided
    if submission is None and not bridge.queues:
        return decided
    place = Place(file)
    lanes = _lanes_open(bridge, submission)
    if not lanes:
        return _refused(decided, Finding("queue.closed", place))
    if submission is not None and submission.resubmits is None:
        lanes -= full
        if not lanes:
            return _refused(decided, Finding("queue.full", place))
    chosen = tuple(
        choose([one for one in judged if one.lane.device_id in lanes]) for judged in decided.judged
    )
    decided = replace(decided, chosen=chosen)
    for item, best in zip(order.items, chosen, strict=True):
        if best is None:
            return _refused(decided, Finding("route.no-lane", place, {"part": item.job_part_id}))
    if submission is None or submission.resubmits is not None:
        return decided
    if submission.priority is not None:
        urged = order.model_copy(update={"priority": submission.priority})
        decided = replace(decided, order=urged)
    return _unless_known(memory, decided, place)


def full_lanes(bridge: Bridge, tx: Transaction) -> frozenset[str]:
    """Lanes whose queues have all the entries that they may have; looked up once for a batch."""
    jmf = bridge.shop.settings.jmf
    if jmf is None:
        return frozenset()
    most = jmf.limits.queue_entries
    return frozenset(name for name, size in tx.queue_sizes().items() if size.jobs >= most)


def _lanes_open(bridge: Bridge, submission: Submission | None) -> frozenset[str]:
    """The lanes whose queues take entries, of those that the message may mean."""
    addressed = (
        bridge.lanes if submission is None or submission.device_id is None else (submission.device_id,)
    )
    return frozenset(name for name in addressed if not bridge.queues.get(name, OPEN).closed)


def _unless_known(memory: Memory, decided: Decided, place: Place) -> Decided:
    """Other content for a JobID and JobPartID that the queue has is refused: only a resubmission changes it."""
    order = decided.order
    assert order is not None  # noqa: S101  the caller has looked
    known = memory.known_identities(decided.identities)
    new = {
        item.job_part_id
        for item, identity in zip(order.items, decided.identities, strict=True)
        if identity not in known or known[identity].queue_entry_id is None
    }
    for job in memory.jobs_named(order.source, order.job_id) if new else ():
        if job.listed and job.state is not State.REMOVED and job.job_part_id in new:
            facts = {"job_id": job.job_id, "part": job.job_part_id, "queue_entry_id": job.queue_entry_id}
            return _refused(decided, Finding("queue.entry-exists", place, facts))
    return decided


def _refused(decided: Decided, finding: Finding) -> Decided:
    return replace(decided, findings=(*decided.findings, finding))


def note_submission(
    bridge: Bridge, tx: Transaction, claim_id: str, submission: Submission, jobs: Sequence[Job]
) -> None:
    """Remember what the message said, and hold the new entries where it asked for that; part of the commit."""
    tx.add_submission(claim_id, submission)
    if submission.hold:
        for job in jobs:
            request = Request(Wish.HOLD, submission.sender_id, {"queue_entry_id": job.queue_entry_id})
            about_a_job(bridge, tx, request, f"{claim_id}.{job.queue_entry_id}")
