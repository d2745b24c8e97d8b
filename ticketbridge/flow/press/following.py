"""What a press says, applied: the job's state, the roll's account, messages to the MIS, the returned ticket."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ticketbridge.decide.estimate.roll import level_of
from ticketbridge.flow.bridge import Bridge, job_at
from ticketbridge.flow.press.gang_members import jobs_told_of
from ticketbridge.flow.press.press_queue import apply_entry
from ticketbridge.flow.press.returning import return_job
from ticketbridge.flow.press.steps import as_said, move_job, tell_finding
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.hand_over.follow import (
    DeviceSaid,
    EntrySaid,
    InkSaid,
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
from ticketbridge.model.codes import refuses, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, type_of_fact
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL, State, Step, after
from ticketbridge.model.used import USED, InkLevel, Use
from ticketbridge.report.compose import (
    device_status,
    ink_on_lane,
    ink_used,
    job_status,
    media_used,
    queue_status,
    trouble,
)
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask
from ticketbridge.spool.places import claimed_name
from ticketbridge.store.records import DeliveryState, StateMoved, WorldFault
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


NOT_SURE = (DeliveryState.SUBMITTING, DeliveryState.IN_DOUBT)


@dataclass(frozen=True, slots=True)
class PressFile:
    """A file that a press wrote: signals or a returned ticket."""

    device_id: str
    path: Path
    data: bytes
    done: Callable[[bool], None]
    """Tells the listener whether to go on to the next file, or to hand this one on again first: what a press says
    has an order, and the world may have been at fault just now."""


def follow(bridge: Bridge, file: PressFile) -> None:
    """Apply one file of a press, commit, then move the file to ``followed``.

    Where a share hangs that it needs, its lane's or that of the MIS, it stays, and is handed on again; what was
    committed of it then only repeats itself.
    """
    name, well = str(file.path), True
    try:
        if not bridge.is_put_off(name):
            _follow(bridge, file)
            bridge.put_off.pop(name, None)
    except ShareHangs as error:
        bridge.put_off[name] = error.share
    except (OSError, *WorldFault, durable.PlaceNotReady, StateMoved):
        well = False
        raise
    finally:
        file.done(well)


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
            _follow_signals(bridge, root, file.device_id)
        else:
            return_job(bridge, root, file.device_id)
    _move_away(bridge, file)


def _move_away(bridge: Bridge, file: PressFile) -> None:
    ask(file.path, lambda: _move_to(bridge.lane_places(file.device_id).followed, file))


def _move_to(followed: Path, file: PressFile) -> None:
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


def follow_answers(bridge: Bridge, root: Element, device_id: str) -> None:
    """What a press says when it is asked. Most of it was said before, and only what is new is passed on."""
    with bridge.store.transaction() as tx:
        for said in read_answers(root, device_id):
            if not _known(bridge, tx, said):
                _apply(bridge, tx, said)


def _known(bridge: Bridge, tx: Transaction, said: Said) -> bool:
    """Whether a polled press only repeats itself, or speaks of a job that ended while its answer was on the way."""
    if isinstance(said, DeviceSaid | InkSaid):
        return isinstance(said, DeviceSaid)
    job = _job_of(bridge, tx, said)
    if job is None or job.state in FINAL or job.state is State.PENDING_RETURN:
        return True
    if isinstance(said, PhaseSaid):
        told = (said.status, said.status_details, said.amount, said.waste)
        return told == (job.phase, job.status_details, job.amount, job.waste)
    if isinstance(said, UseSaid):
        return _last_uses(tx, job, said.resource) == [list(one) for one in said.amounts]
    return False


def _last_uses(tx: Transaction, job: Standing, resource: str) -> object:
    """What its press last said that a job has used of a kind."""
    told = [event["facts"] for event in tx.history(job.queue_entry_id) if event["what"] == USED]
    return next((facts["uses"] for facts in reversed(told) if facts["resource"] == resource), None)


def _job_of(bridge: Bridge, tx: Transaction, said: Said) -> Standing | None:
    if isinstance(said, DeviceSaid | InkSaid):
        return None
    return job_at(bridge, tx, said.device_id, said.job_part_id or "")


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
    if isinstance(said, InkSaid):
        _apply_ink(bridge, tx, said)
        return
    if said.job_id is None:
        _apply_to(bridge, tx, said, None)
        return
    told = jobs_told_of(bridge, tx, said)
    for part, job in told:
        _has_the_ticket(bridge, tx, job)
        _apply_to(bridge, tx, part, job)
    if not told and not isinstance(said, EntrySaid):  # a press may print for others, too
        facts = {"device_id": said.device_id, "job_id": said.job_id, "job_part_id": said.job_part_id}
        tell_finding(bridge, tx, None, Finding("press.unknown-job", facts=facts))


def _apply_to(bridge: Bridge, tx: Transaction, said: Said, job: Standing | None) -> None:
    if isinstance(said, NoteSaid):
        _pass_on(bridge, tx, said, job)
    elif job is not None and isinstance(said, PhaseSaid):
        _apply_phase(bridge, tx, said, job)
    elif job is not None and isinstance(said, UseSaid):
        _apply_use(bridge, tx, said, job)
    elif job is not None and isinstance(said, EntrySaid):
        apply_entry(bridge, tx, said, job)


def _apply_ink(bridge: Bridge, tx: Transaction, said: InkSaid) -> None:
    """How full a lane's ink is: kept for those who ask, and told where it is another than before."""
    level = InkLevel(said.separation, said.level, said.available_l)
    known = bridge.inks.get(said.device_id, ())
    if level in known:
        return
    others = tuple(one for one in known if one.separation != level.separation)
    bridge.inks[said.device_id] = tuple(sorted((*others, level), key=lambda one: one.separation))
    for source_id in bridge.sources:
        report(bridge, tx, source_id, [ink_on_lane(said.device_id, level)])


def _has_the_ticket(bridge: Bridge, tx: Transaction, job: Standing) -> None:
    """A press that speaks of a job has its ticket, whatever became of the answer to its submission."""
    if bridge.link(job.device_id) is not None:
        tx.move_delivery(job.queue_entry_id, NOT_SURE, DeliveryState.DELIVERED)


def _apply_phase(bridge: Bridge, tx: Transaction, said: PhaseSaid, job: Standing) -> None:
    step = STEPS.get(said.status)
    if step is None:
        return
    if job.state is State.PENDING_RETURN and bridge.link(job.device_id) is not None:
        _tell_late(bridge, tx, said, job)
        return
    if job.state in FINAL or (job.state is State.PENDING_RETURN and step in (Step.FINISHED, Step.BROKEN_OFF)):
        return  # the returned ticket was quicker than the last signal
    next_state = after(job.state, step)
    known: dict[str, type_of_fact] = {"device_id": said.device_id, "queue_entry_id": job.queue_entry_id}
    if next_state is None:
        facts = known | {"said": said.status, "state": job.state.value}
        tell_finding(bridge, tx, job, Finding("press.contradiction", facts=facts))
        return
    if said.amount < job.amount:
        facts = known | {"said": said.amount, "known": job.amount}
        tell_finding(bridge, tx, job, Finding("press.amount-shrank", facts=facts))
    changed = move_job(bridge, tx, job, step, next_state, said)
    phase = Phase(said.status, said.status_details, said.phase_start, said.rest_time)
    messages = [job_status(changed, phase)]
    if changed.state is not job.state:
        messages.append(queue_status(job.device_id, [changed], queue_size(tx, job.device_id)))
    report(bridge, tx, job.source, messages)


def _tell_late(bridge: Bridge, tx: Transaction, said: PhaseSaid, job: Standing) -> None:
    """A press's queue said that the job is done before its phases were heard: they are passed on, and move nothing."""
    changes = as_said(said, job)
    tx.change_job(job, **changes)
    phase = Phase(said.status, said.status_details, said.phase_start, said.rest_time)
    report(bridge, tx, job.source, [job_status(replace(job, **changes), phase)])


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
    facts = {"resource": said.resource, "unit": said.unit, "uses": [list(one) for one in said.amounts]}
    tx.tell(Event(USED, bridge.now(), job.queue_entry_id, said.device_id, facts))
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
