"""What a press says, applied: the job's state, the roll's account, messages to the MIS, the returned ticket."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ticketbridge.decide.estimate.roll import level_of
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.flow.returning import return_job
from ticketbridge.flow.roll_account import charge, report_roll, roll_at_start
from ticketbridge.hand_over.follow import (
    DeviceSaid,
    EntrySaid,
    NoteSaid,
    PhaseSaid,
    Said,
    UseSaid,
    read_answers,
    read_signals,
)
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
from ticketbridge.store.records import DeliveryState
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
class Contradiction:
    """What a press's queue says cannot follow on what the job is here."""


ENTRY_STEPS: Mapping[tuple[State, str], Step | Contradiction] = {
    (State.WAITING, "Held"): Step.HELD,
    (State.WAITING, "Running"): Step.STARTED,
    (State.WAITING, "PendingReturn"): Step.FINISHED,
    (State.WAITING, "Completed"): Step.FINISHED,
    (State.WAITING, "Aborted"): Step.BROKEN_OFF,
    (State.WAITING, "Removed"): Step.CANCELLED,
    (State.HELD, "Waiting"): Step.RESUMED,
    (State.HELD, "Running"): Step.STARTED,
    (State.HELD, "Aborted"): Step.BROKEN_OFF,
    (State.HELD, "Removed"): Step.CANCELLED,
    (State.RUNNING, "Suspended"): Step.SUSPENDED,
    (State.RUNNING, "PendingReturn"): Step.FINISHED,
    (State.RUNNING, "Completed"): Step.FINISHED,
    (State.RUNNING, "Aborted"): Step.BROKEN_OFF,
    (State.RUNNING, "Waiting"): Contradiction(),
    (State.RUNNING, "Held"): Contradiction(),
    (State.RUNNING, "Removed"): Contradiction(),
    (State.SUSPENDED, "Running"): Step.WENT_ON,
    (State.SUSPENDED, "Aborted"): Step.BROKEN_OFF,
    (State.SUSPENDED, "Waiting"): Contradiction(),
    (State.SUSPENDED, "Removed"): Contradiction(),
    (State.PENDING_RETURN, "Waiting"): Contradiction(),
    (State.COMPLETED, "Waiting"): Contradiction(),
    (State.COMPLETED, "Running"): Contradiction(),
    (State.ABORTED, "Running"): Contradiction(),
}
"""(the job here, ``QueueEntry@Status`` there) -> the step, or that it cannot be. What is not here says nothing new."""

BY_THE_QUEUE: Mapping[Step, str] = {
    Step.HELD: "JobHeld",
    Step.RESUMED: "QueuedToRun",
    Step.CANCELLED: "JobCanceledByOperator",
}
"""Steps of a press's queue without a phase of the job, and their ``StatusDetails``."""

NOT_SURE = (DeliveryState.SUBMITTING, DeliveryState.IN_DOUBT)


@dataclass(frozen=True, slots=True)
class PressFile:
    """A file that a press wrote: signals or a returned ticket."""

    device_id: str
    path: Path
    data: bytes
    done: Callable[[], None]
    """Tells the listener that the file was moved away, or must be handed on again."""


def follow(bridge: Bridge, file: PressFile) -> None:
    """Apply one file of a press, commit, then move the file to ``followed``."""
    try:
        _follow(bridge, file)
    finally:
        file.done()


def _follow(bridge: Bridge, file: PressFile) -> None:
    try:
        root = parse(file.data, bridge.shop.settings.limits, file.path.name)
    except XmlRefused as refusal:
        _note_unreadable(bridge, file, refusal.findings[0])
    else:
        findings = check(root, file.path.name)
        if refuses(findings):
            _note_unreadable(bridge, file, findings[0])
        elif root.tag == jdf("JMF"):
            follow_signals(bridge, root, file.device_id)
        else:
            return_job(bridge, root, file.device_id)
    _move_away(bridge, file)


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


def follow_signals(bridge: Bridge, root: Element, device_id: str, lanes: Sequence[str] = ()) -> None:
    """All signals of one document in one transaction. A signal taken before is dropped by its sender and ID.

    Args:
        bridge: The bridge.
        root: The JMF element.
        device_id: The lane, where a signal names none.
        lanes: Lanes that the sender may speak for; none means that all are.
    """
    with bridge.store.transaction() as tx:
        for signal in read_signals(root, device_id):
            if tx.is_new_message(f"{device_id} {signal.sender_id}", signal.message_id, bridge.now()):
                for said in signal.said:
                    if not lanes or said.device_id in lanes:
                        _apply(bridge, tx, said)


def follow_answers(bridge: Bridge, root: Element, device_id: str) -> None:
    """What a press says when it is asked. Most of it was said before, and only what is new is passed on."""
    with bridge.store.transaction() as tx:
        for said in read_answers(root, device_id):
            if not _known(tx, said):
                _apply(bridge, tx, said)


def _known(tx: Transaction, said: Said) -> bool:
    """Whether a polled press only repeats itself, or speaks of a job that ended while its answer was on the way."""
    if isinstance(said, DeviceSaid):
        return True
    job = _job_of(tx, said)
    if job is None or job.state in FINAL or job.state is State.PENDING_RETURN:
        return True
    if isinstance(said, PhaseSaid):
        told = (said.status, said.status_details, said.amount, said.waste)
        return told == (job.phase, job.status_details, job.amount, job.waste)
    return False


def _job_of(tx: Transaction, said: Said) -> Standing | None:
    if isinstance(said, DeviceSaid):
        return None
    return tx.job_at_lane(said.device_id, queue_entry_id_in(said.job_part_id or ""))


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
        job = _job_of(tx, said)
        if job is not None:
            _has_the_ticket(bridge, tx, job)
        elif isinstance(said, EntrySaid):
            return  # a press may print for others, too
        else:
            facts = {"device_id": said.device_id, "job_id": said.job_id, "job_part_id": said.job_part_id}
            _tell_finding(bridge, tx, None, Finding("press.unknown-job", facts=facts))
            return
    if isinstance(said, NoteSaid):
        _pass_on(bridge, tx, said, job)
    elif job is not None and isinstance(said, PhaseSaid):
        _apply_phase(bridge, tx, said, job)
    elif job is not None and isinstance(said, UseSaid):
        _apply_use(bridge, tx, said, job)
    elif job is not None and isinstance(said, EntrySaid):
        _apply_entry(bridge, tx, said, job)


def _has_the_ticket(bridge: Bridge, tx: Transaction, job: Standing) -> None:
    """A press that speaks of a job has its ticket, whatever became of the answer to its submission."""
    if bridge.link(job.device_id) is not None:
        tx.move_delivery(job.queue_entry_id, NOT_SURE, DeliveryState.DELIVERED)


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


def _apply_entry(bridge: Bridge, tx: Transaction, said: EntrySaid, job: Standing) -> None:
    """The entry of a press's queue: holds, removals and ends that no JobPhase told of."""
    wanted = ENTRY_STEPS.get((job.state, said.status))
    if wanted is None:
        return
    if isinstance(wanted, Contradiction):
        key = f"{job.queue_entry_id} {said.status} {job.state}"
        if tx.is_new_message(f"{said.device_id} contradicts", key[:63], bridge.now()):
            facts: dict[str, type_of_fact] = {
                "device_id": said.device_id,
                "queue_entry_id": job.queue_entry_id,
                "said": said.status,
                "state": job.state.value,
            }
            _tell_finding(bridge, tx, job, Finding("press.contradiction", facts=facts))
        return
    step_job(bridge, tx, job, wanted)


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
        substrate = bridge.shop.substrates.get(job.substrate)
        if substrate is None:  # taken out of the catalogue while the press printed on it
            return
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
