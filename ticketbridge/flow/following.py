"""What a press says, applied: the job's state, the roll's account, messages to the MIS, the returned ticket."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.flow.returning import return_job
from ticketbridge.flow.roll_account import charge, level_of, report_roll, roll_at_start
from ticketbridge.hand_over.follow import DeviceSaid, NoteSaid, PhaseSaid, Said, UseSaid, read_signals
from ticketbridge.hand_over.write_resources import media_attributes
from ticketbridge.jdf.check import check
from ticketbridge.jdf.message_parts import Phase
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, type_of_fact
from ticketbridge.model.job import Standing, queue_entry_id_in
from ticketbridge.model.job_states import FINAL, State, Step, after
from ticketbridge.report.compose import (
    Use,
    device_status,
    ink_used,
    job_status,
    media_used,
    queue_status,
    trouble,
)
from ticketbridge.spool import durable
from ticketbridge.spool.places import claimed_name
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.names import jdf

STEPS = {
    "Setup": Step.STARTED,
    "InProgress": Step.STARTED,
    "Cleanup": Step.STARTED,
    "Stopped": Step.STOPPED,
    "Suspended": Step.SUSPENDED,
    "Completed": Step.FINISHED,
    "Aborted": Step.BROKEN_OFF,
}
"""What a press's JobPhase means for the job; other words (Waiting, Ready) say nothing new."""


@dataclass(frozen=True, slots=True)
class PressFile:
    """A file that a press wrote: signals or a returned ticket."""

    device_id: str
    path: Path
    data: bytes
    done: Callable[[], None]
    """Tells the listener that the file was moved away."""


def follow(bridge: Bridge, file: PressFile) -> None:
    """Apply one file of a press, commit, then move the file to ``followed``."""
    try:
        root = parse(file.data, bridge.shop.settings.limits, file.path.name)
    except XmlRefused as refusal:
        _note_unreadable(bridge, file, refusal.findings[0])
    else:
        findings = check(root, file.path.name)
        if refuses(findings):
            _note_unreadable(bridge, file, findings[0])
        elif root.tag == jdf("JMF"):
            _follow_signals(bridge, root, file.device_id)
        else:
            return_job(bridge, root, file.device_id)
    _move_away(bridge, file)
    file.done()


def _move_away(bridge: Bridge, file: PressFile) -> None:
    followed = bridge.lane_places(file.device_id).followed
    target = followed / file.path.name
    count = 1
    while target.exists():  # the press may use a name again
        count += 1
        target = followed / claimed_name(str(count), file.path.name)
    durable.move(file.path, target)


def _note_unreadable(bridge: Bridge, file: PressFile, why: Finding) -> None:
    facts = {"device_id": file.device_id, "name": file.path.name, "reason": sentence(why)}
    bridge.notice("press.unreadable", **facts)
    with bridge.store.transaction() as tx:
        tx.tell(Event("press.unreadable", bridge.now(), who=file.device_id, facts=facts))


def _follow_signals(bridge: Bridge, root: Element, device_id: str) -> None:
    """All signals of one document in one transaction. A signal taken before is dropped by its sender and ID."""
    with bridge.store.transaction() as tx:
        for signal in read_signals(root, device_id):
            if tx.is_new_message(f"{device_id} {signal.sender_id}", signal.message_id, bridge.now()):
                for said in signal.said:
                    _apply(bridge, tx, said)


def _apply(bridge: Bridge, tx: Transaction, said: Said) -> None:
    if isinstance(said, DeviceSaid):
        for source_id in bridge.sources:
            report(
                bridge,
                tx,
                source_id,
                [device_status(said.device_id, said.device_status, said.status_details)],
            )
        return
    job = None
    if said.job_id is not None:
        job = tx.job_at_lane(said.device_id, queue_entry_id_in(said.job_part_id or ""))
        if job is None:
            facts = {"device_id": said.device_id, "job_id": said.job_id, "job_part_id": said.job_part_id}
            _tell_finding(bridge, tx, None, Finding("press.unknown-job", facts=facts))
            return
    if isinstance(said, NoteSaid):
        _pass_on(bridge, tx, said, job)
    elif job is not None and isinstance(said, PhaseSaid):
        _apply_phase(bridge, tx, said, job)
    elif job is not None and isinstance(said, UseSaid):
        _apply_use(bridge, tx, said, job)


def _apply_phase(bridge: Bridge, tx: Transaction, said: PhaseSaid, job: Standing) -> None:
    step = STEPS.get(said.status)
    if step is None:
        return
    if job.state in FINAL or (job.state is State.PENDING_RETURN and step in (Step.FINISHED, Step.BROKEN_OFF)):
        return  # the returned ticket was quicker than the last signal
    next_state = after(job.state, step)
    known: dict[str, type_of_fact] = {"device_id": said.device_id, "queue_entry_id": job.queue_entry_id}
    if next_state is None:
        facts = known | {"said": said.status, "state": job.state.value}
        _tell_finding(bridge, tx, job, Finding("press.contradiction", facts=facts))
        return
    if said.amount < job.amount:
        facts = known | {"said": said.amount, "known": job.amount}
        _tell_finding(bridge, tx, job, Finding("press.amount-shrank", facts=facts))
    changed = move_job(bridge, tx, job, step, next_state, said)
    phase = Phase(said.status, said.status_details, said.phase_start, said.rest_time)
    messages = [job_status(changed, phase)]
    if changed.state is not job.state:
        messages.append(queue_status(job.device_id, [changed], queue_size(tx, job.device_id)))
    report(bridge, tx, job.source, messages)


def move_job(
    bridge: Bridge, tx: Transaction, job: Standing, step: Step, next_state: State, said: PhaseSaid | None
) -> Standing:
    """One step of a job, with its history; the start takes the roll into account, the end takes it off."""
    now = bridge.now()
    changes: dict[str, Any] = {"state": next_state}
    if said is not None:
        changes |= {
            "phase": said.status,
            "status_details": said.status_details,
            "amount": max(said.amount, job.amount),
            "waste": max(said.waste, job.waste),
        }
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


def _apply_use(bridge: Bridge, tx: Transaction, said: UseSaid, job: Standing) -> None:
    uses = [Use(which, condition, amount) for which, condition, amount in said.amounts]
    if said.resource == "Ink":
        messages: Sequence[Element] = [ink_used(job, uses)]
    elif said.resource == "Media":
        press, _ = bridge.lanes[job.device_id]
        substrate = bridge.shop.substrates[job.substrate]
        roll = tx.rolls().get(job.device_id)
        level = level_of(roll, substrate) if roll else "Empty"
        left_m2 = roll.length_left_m * roll.width_mm / 1000 if roll else 0.0
        media = media_attributes(substrate, press)
        messages = [media_used(job, media, uses, level=level, left_m2=left_m2)]
    else:
        return
    report(bridge, tx, job.source, messages)


def _pass_on(bridge: Bridge, tx: Transaction, said: NoteSaid, job: Standing | None) -> None:
    now = bridge.now()
    note = trouble(job, said.severity, said.event_id or "PressNotice", said.text, now)
    tx.tell(
        Event(
            "press notice",
            now,
            job.queue_entry_id if job else None,
            said.device_id,
            {"severity": said.severity, "event_id": said.event_id, "text": said.text},
        )
    )
    for source_id in [job.source] if job else list(bridge.sources):
        report(bridge, tx, source_id, [note])


def _tell_finding(bridge: Bridge, tx: Transaction, job: Standing | None, finding: Finding) -> None:
    now = bridge.now()
    bridge.notice(finding.code, **finding.facts)
    tx.tell(Event(finding.code, now, job.queue_entry_id if job else None, facts=finding.facts))
    text = f"{sentence(finding)} {remedy(finding)}"
    for source_id in [job.source] if job else list(bridge.sources):
        report(bridge, tx, source_id, [trouble(job, "Warning", "PressContradicts", text, now)])
