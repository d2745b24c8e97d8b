"""Events as JMF. Each function makes one signal or command; ``message`` puts several into one document.

IDs are given by the message, from the channel's own running number, so that a repeated try carries the same.
"""

import re
from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from ticketbridge.jdf.message_parts import (
    DEVICE_STATUS,
    Phase,
    ink_info,
    job_phase,
    notification,
    queue_entry,
    set_known,
)
from ticketbridge.jdf.versions import fit_to_version
from ticketbridge.jdf.writing import Element, as_bytes, child, clean, jdf_root, moment
from ticketbridge.model.codes import CODES, remedy, sentence, severity_of
from ticketbridge.model.finding import Finding, Severity
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.used import InkLevel, Use
from ticketbridge.vocabulary.units import number


def message(
    messages: Sequence[Element],
    *,
    sender_id: str,
    version: str,
    at: datetime,
    id_prefix: str,
    agent_version: str,
) -> bytes:
    """One JMF document. Message IDs are ``<prefix>-<n>``: xs:ID, unique in the channel, the same on each try."""
    root = jdf_root(
        "JMF",
        SenderID=sender_id,
        TimeStamp=moment(at),
        Version=version,
        MaxVersion=version,
        AgentName="ticketbridge",
        AgentVersion=agent_version,
    )
    for place, one in enumerate(messages):
        one.set("ID", f"{id_prefix}-{place}")
        root.append(one)
    fit_to_version(root, version)
    return as_bytes(root)


def accepted(standing: Standing, lane_name: str, at: datetime) -> Element:
    """A ticket from a hot folder became a job."""
    text = f"Accepted as {standing.queue_entry_id} for {lane_name}."
    note = notification("Information", "Event", text, at, standing)
    child(note, "Event", EventID="TicketAccepted", EventValue=standing.queue_entry_id)
    return _signal("Notification", note)


def repeated(job_id: str, queue_entry_id: str, file_name: str, at: datetime) -> Element:
    """The same content again."""
    text = f"{file_name} says the same as {queue_entry_id}, which is a job already. Nothing new was made."
    note = notification("Information", "Event", text, at)
    note.set("JobID", clean(job_id))
    child(note, "Event", EventID="TicketRepeated", EventValue=queue_entry_id)
    return _signal("Notification", note)


def planned_anew(standing: Standing, file_name: str, at: datetime) -> Element:
    """The same work again, but due at another time, more or less urgent, held or let go."""
    due = f"due {moment(standing.due)}" if standing.due else "without a due time"
    held = "held" if standing.state is State.HELD else "not held"
    text = (
        f"{file_name} asks for the same as {standing.queue_entry_id}, which is {due} now, of priority "
        f"{standing.priority} and {held}. Nothing new was made."
    )
    note = notification("Information", "Event", text, at, standing)
    child(note, "Event", EventID="TicketPlannedAnew", EventValue=standing.queue_entry_id)
    return _signal("Notification", note)


def refused(
    file_name: str, findings: Sequence[Finding], job_id: str | None, at: datetime, part: str | None = None
) -> Element:
    """A ticket was refused, or a single item of it: what, where, what to do."""
    errors = [finding for finding in findings if severity_of(finding) is Severity.ERROR]
    what = f"Part {part} of {file_name}" if part else file_name
    text = f"{what} was refused. " + " ".join(f"{sentence(f)} {remedy(f)}" for f in errors)
    note = notification("Error", "Error", text, at)
    if job_id:
        note.set("JobID", clean(job_id)[:63])
    if job_id and part:
        note.set("JobPartID", clean(part)[:63])
    first = errors[0]
    error = child(
        note, "Error", ErrorID=first.code, ReturnCode=str(CODES[first.code].return_code), Resend="Prohibited"
    )
    for finding in errors:
        if finding.place.path:
            child(error, "ErrorData", ErrorType="Invalid", Path=finding.place.path)
    return _signal("Notification", note)


def trouble(standing: Standing | None, severity: str, event_id: str, text: str, at: datetime) -> Element:
    """A fault, a wait, a contradiction: passed on with its severity."""
    note = notification(severity, "Event", text, at, standing)
    child(note, "Event", EventID=event_id)
    return _signal("Notification", note)


class Size(Protocol):
    """How long a queue is, and whether something of it runs."""

    @property
    def jobs(self) -> int:
        """Unfinished jobs."""

    @property
    def running(self) -> bool:
        """Whether one of them runs."""


def queue_status(device_id: str, changed: Sequence[Standing], size: Size) -> Element:
    """A lane's queue after a change: only the entries that changed, with the size of the whole."""
    signal = child(None, "Signal", xsi_type="SignalQueueStatus", Type="QueueStatus")
    child(signal, "QueueFilter", QueueEntryDetails="Brief", UpdateGranularity="ChangesOnly")
    status = "Running" if size.running else "Waiting"
    queue = child(signal, "Queue", DeviceID=device_id, Status=status, QueueSize=str(size.jobs))
    for job in changed:
        queue_entry(queue, job)
    return signal


def job_status(standing: Standing, phase: Phase) -> Element:
    """Setup, start, progress, stop, end of a job. Amounts count since the job started, in pieces."""
    signal = child(None, "Signal", xsi_type="SignalStatus", Type="Status")
    child(signal, "StatusQuParams", DeviceDetails="Brief", JobDetails="Brief")
    info = child(
        signal,
        "DeviceInfo",
        DeviceID=standing.device_id,
        DeviceStatus=DEVICE_STATUS.get(phase.status, "Unknown"),
    )
    set_known(
        info,
        StatusDetails=phase.status_details if phase.status in ("Setup", "InProgress", "Stopped") else None,
    )
    job_phase(info, standing, phase)
    return signal


def device_status(device_id: str, status: str, details: str | None) -> Element:
    """The lane itself, without a job."""
    signal = child(None, "Signal", xsi_type="SignalStatus", Type="Status")
    child(signal, "StatusQuParams", DeviceDetails="Brief", JobDetails="None")
    info = child(signal, "DeviceInfo", DeviceID=device_id, DeviceStatus=status)
    set_known(info, StatusDetails=details)
    return signal


def media_used(
    standing: Standing, media: dict[str, str], uses: Sequence[Use], *, level: str, left_m2: float
) -> Element:
    """Substrate used by a job, in square metres per lot, and what is left on the roll."""
    signal = _resource_signal(standing, "Media", "m2")
    info = signal[-1]
    info.set("Level", level)
    info.set("AvailableAmount", number(left_m2))
    _amounts(info, uses, "LotID")
    child(info, "Media", ID=f"{standing.queue_entry_id}.m", Class="Consumable", Status="InUse", **media)
    return signal


def roll_on_lane(device_id: str, media: dict[str, str], *, lot: str, level: str, left_m2: float) -> Element:
    """The roll on a lane after it was loaded, changed or used up: its lot, and the square metres left on it."""
    signal = child(None, "Signal", xsi_type="SignalResource", Type="Resource")
    child(signal, "ResourceQuParams", ResourceName="Media", Exact="true")
    info = child(
        signal,
        "ResourceInfo",
        ResourceName="Media",
        Usage="Input",
        Scope="Present",
        DeviceID=device_id,
        Unit="m2",
        Level=level,
        AvailableAmount=number(left_m2),
    )
    child(child(child(info, "AmountPool"), "PartAmount", Amount=number(left_m2)), "Part", LotID=_token(lot))
    status = "Unavailable" if level == "Empty" else "Available"
    child(info, "Media", ID="roll", Class="Consumable", Status=status, BatchID=clean(lot), **media)
    return signal


def ink_used(standing: Standing, uses: Sequence[Use]) -> Element:
    """Ink used by a job, in litres per separation."""
    signal = _resource_signal(standing, "Ink", "l")
    info = signal[-1]
    _amounts(info, uses, "Separation")
    ink = child(
        info,
        "Ink",
        ID=f"{standing.queue_entry_id}.ink",
        Class="Consumable",
        Status="InUse",
        Unit="l",
        PartIDKeys="Separation",
    )
    for use in uses:
        child(ink, "Ink", Separation=use.which)
    return signal


def ink_on_lane(device_id: str, ink: InkLevel) -> Element:
    """How full an ink of a lane is, after its press said so."""
    signal = child(None, "Signal", xsi_type="SignalResource", Type="Resource")
    child(signal, "ResourceQuParams", ResourceName="Ink", Exact="true")
    signal.append(ink_info(device_id, ink))
    return signal


def return_queue_entry(queue_entry_id: str, url: str, node_id: str, *, completed: bool) -> Element:
    """The ticket of a finished job is back, at that URL."""
    command = child(None, "Command", xsi_type="CommandReturnQueueEntry", Type="ReturnQueueEntry")
    child(
        command,
        "ReturnQueueEntryParams",
        QueueEntryID=queue_entry_id,
        URL=url,
        **{"Completed" if completed else "Aborted": node_id},
    )
    return command


def _signal(kind: str, content: Element) -> Element:
    signal = child(None, "Signal", xsi_type=f"Signal{kind}", Type=kind)
    signal.append(content)
    return signal


def _resource_signal(standing: Standing, resource: str, unit: str) -> Element:
    signal = child(None, "Signal", xsi_type="SignalResource", Type="Resource")
    child(
        signal,
        "ResourceQuParams",
        JobID=standing.job_id,
        JobPartID=standing.job_part_id,
        QueueEntryID=standing.queue_entry_id,
        ResourceName=resource,
        Exact="true",
    )
    child(
        signal,
        "ResourceInfo",
        ResourceName=resource,
        Usage="Input",
        Scope="Job",
        DeviceID=standing.device_id,
        Unit=unit,
    )
    return signal


def _amounts(info: Element, uses: Sequence[Use], key: str) -> None:
    pool = child(info, "AmountPool")
    for use in uses:
        part = child(child(pool, "PartAmount", ActualAmount=number(use.amount)), "Part", **{key: use.which})
        if use.condition:
            part.set("Condition", use.condition)


def _token(text: str) -> str:
    """Text as an NMTOKEN of at most 63 characters (JDF's shortString); other characters become underscores."""
    return re.sub(r"[^A-Za-z0-9._:-]", "_", text)[:63]
