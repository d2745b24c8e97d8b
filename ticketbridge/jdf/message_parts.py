"""Parts of JMF that signals and answers share: a queue entry, a job's phase, a notification."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from ticketbridge.jdf.writing import Element, child, clean, moment
from ticketbridge.model.job import Standing
from ticketbridge.model.used import InkLevel
from ticketbridge.vocabulary.units import number

DEVICE_STATUS: Final[Mapping[str, str]] = {
    "Setup": "Setup",
    "InProgress": "Running",
    "Stopped": "Stopped",
    "Cleanup": "Cleanup",
    "Suspended": "Idle",
    "Completed": "Running",
    "Aborted": "Stopped",
}
"""``DeviceInfo@DeviceStatus`` beside ``JobPhase@Status``."""


@dataclass(frozen=True, slots=True)
class Phase:
    """Where the press is with a job, for a Status signal."""

    status: str
    status_details: str | None = None
    phase_start: datetime | None = None
    rest_time: str | None = None


def queue_entry(parent: Element, job: Standing, *, with_lane: bool = False) -> Element:
    """A ``QueueEntry``; with its lane where the queue is not the lane's own."""
    entry = child(
        parent,
        "QueueEntry",
        QueueEntryID=job.queue_entry_id,
        JobID=job.job_id,
        JobPartID=job.job_part_id,
        Status=job.state.value,
        Priority=str(job.priority),
        SubmissionTime=moment(job.submitted_at),
    )
    if with_lane:
        entry.set("DeviceID", job.device_id)
    set_known(entry, StatusDetails=job.status_details, StartTime=job.started_at, EndTime=job.ended_at)
    return entry


def job_phase(parent: Element, job: Standing, phase: Phase) -> Element:
    """A ``JobPhase``. Amounts count since the job started, in pieces."""
    percent = 100 * job.amount / job.quantity
    element = child(
        parent,
        "JobPhase",
        JobID=job.job_id,
        JobPartID=job.job_part_id,
        QueueEntryID=job.queue_entry_id,
        Status=phase.status,
        TotalAmount=str(job.quantity),
        Amount=number(job.amount),
        Waste=number(job.waste),
        PercentCompleted=number(round(percent, 1)),
    )
    set_known(
        element,
        StatusDetails=phase.status_details,
        StartTime=job.started_at,
        PhaseStartTime=phase.phase_start,
        RestTime=phase.rest_time,
        EndTime=job.ended_at,
    )
    return element


def notification(
    severity: str, kind: str, text: str, at: datetime, standing: Standing | None = None
) -> Element:
    """A ``Notification`` with its text for people; the child that ``kind`` names is the caller's."""
    note = child(None, "Notification", Class=severity, Type=kind, TimeStamp=moment(at))
    if standing is not None:
        note.set("JobID", standing.job_id)
        note.set("JobPartID", standing.job_part_id)
        note.set("QueueEntryID", standing.queue_entry_id)
    child(note, "Comment").text = clean(text)
    return note


def ink_info(device_id: str, ink: InkLevel) -> Element:
    """An ink of a lane as its press said, as a ``ResourceInfo``."""
    info = child(
        None,
        "ResourceInfo",
        ResourceName="Ink",
        Usage="Input",
        Scope="Present",
        DeviceID=device_id,
        Unit="l",
    )
    left_l = None if ink.available_l is None else number(ink.available_l)
    set_known(info, Level=ink.level, AvailableAmount=left_l)
    child(info, "Part", Separation=ink.separation)
    add_inks(info, "Unavailable" if ink.level == "Empty" else "Available", [ink.separation])
    return info


def add_inks(info: Element, status: str, separations: Iterable[str]) -> None:
    """The ``Ink`` of a ``ResourceInfo``, with a leaf for each separation."""
    ink = child(info, "Ink", ID="ink", Class="Consumable", Status=status, Unit="l", PartIDKeys="Separation")
    for separation in separations:
        child(ink, "Ink", Separation=separation)


def set_known(element: Element, **values: str | datetime | None) -> None:
    """Set the attributes that have a value."""
    for name, value in values.items():
        if value is not None:
            element.set(name, moment(value) if isinstance(value, datetime) else clean(value))
