"""One step of a job that its press tells of: state, history, the roll, and the message about it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.flow.roll_account import charge, report_roll, roll_at_start
from ticketbridge.hand_over.follow import PhaseSaid
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL, State, Step, after
from ticketbridge.report.compose import queue_status, trouble
from ticketbridge.store.transaction import Transaction

BY_THE_QUEUE: Mapping[Step, str] = {
    Step.HELD: "JobHeld",
    Step.RESUMED: "QueuedToRun",
    Step.CANCELLED: "JobCanceledByOperator",
}
"""Steps of a press's queue without a phase of the job, and their ``StatusDetails``."""


def as_said(said: PhaseSaid, job: Standing) -> dict[str, Any]:
    """The phase and the amounts that a press tells; amounts never shrink."""
    return {
        "phase": said.status,
        "status_details": said.status_details,
        "amount": max(said.amount, job.amount),
        "waste": max(said.waste, job.waste),
    }


def move_job(
    bridge: Bridge, tx: Transaction, job: Standing, step: Step, next_state: State, said: PhaseSaid | None
) -> Standing:
    """One step of a job, with its history; the start takes the roll into account, the end takes it off."""
    now = bridge.now()
    changes: dict[str, Any] = {"state": next_state}
    if said is not None:
        changes |= as_said(said, job)
    if job.started_at is None:
        changes["started_at"] = (said.start if said else None) or now
        _note_roll(bridge, tx, job)
    if next_state is State.PENDING_RETURN:
        changes["ended_at"] = now
        charge(bridge, tx, job, job.roll_length_mm / 1000)
    tx.change_job(job, **changes)
    if next_state is not job.state or (said is not None and said.status != job.phase):
        facts = {"amount": said.amount, "status": said.status} if said else {}
        tx.tell(Event(step, now, job.queue_entry_id, job.device_id, facts))
    return replace(job, **changes)


def _note_roll(bridge: Bridge, tx: Transaction, job: Standing) -> None:
    """A job has started: where it is printed on another roll than the one on record, that one is on now."""
    decided = tx.job(job.queue_entry_id)
    if decided.roll is None:
        return
    starts_on = roll_at_start(decided, tx.stock())
    if starts_on is not None and starts_on.device_id == job.device_id:
        return
    now = bridge.now()
    loaded = tx.load_roll(job.device_id, starts_on.roll if starts_on else decided.roll, now)
    tx.tell(Event("roll changed", now, job.queue_entry_id, job.device_id, loaded.summary()))
    report_roll(bridge, tx, job.device_id)


def step_job(bridge: Bridge, tx: Transaction, job: Standing, step: Step) -> None:
    """A step that a press's queue tells of, with the message about it; nothing where it does not fit the state."""
    next_state = after(job.state, step)
    if next_state is None:
        return
    if step in BY_THE_QUEUE:
        details = BY_THE_QUEUE[step]
        now = bridge.now()
        changes: dict[str, Any] = {"state": next_state, "status_details": details}
        if next_state in FINAL:
            changes["ended_at"] = now
        tx.change_job(job, **changes)
        tx.tell(Event(step, now, job.queue_entry_id, job.device_id))
        changed = replace(job, **changes)
    else:
        changed = move_job(bridge, tx, job, step, next_state, None)
    report(bridge, tx, job.source, [queue_status(job.device_id, [changed], queue_size(tx, job.device_id))])


def tell_finding(bridge: Bridge, tx: Transaction, job: Standing | None, finding: Finding) -> None:
    """What a press said that cannot be so: into the log, the history and to the MIS, as a warning."""
    now = bridge.now()
    bridge.notice(finding.code, **finding.facts)
    tx.tell(Event(finding.code, now, job.queue_entry_id if job else None, facts=finding.facts))
    text = f"{sentence(finding)} {remedy(finding)}"
    for source_id in [job.source] if job else list(bridge.sources):
        report(bridge, tx, source_id, [trouble(job, "Warning", "PressContradicts", text, now)])
