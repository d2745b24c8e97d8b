"""The messages of the press: one JMF with one Signal each."""

from dataclasses import dataclass

from lxml import etree

from ticketbridge.press_sim.consumption import Used
from ticketbridge.press_sim.elements import (
    LOT_ELEMENT_IN_SIGNAL,
    Version,
    add,
    as_bytes,
    new_message,
    set_actual,
    set_media_amounts,
)
from ticketbridge.press_sim.ticket import LoadedMedia
from ticketbridge.vocabulary.names import XSI_TYPE
from ticketbridge.vocabulary.units import number


@dataclass(frozen=True, slots=True)
class Subject:
    """Who speaks, and of which job.

    Attributes:
        sender_id: ``JMF@SenderID``.
        version: Version of the message.
        device_id: The lane.
        serial: The press's own number for the job, its QueueEntryID.
        job_id: ``JDF@JobID``; None where the ticket could not be read.
        job_part_id: ``JDF@JobPartID``, or None.
    """

    sender_id: str
    version: Version
    device_id: str
    serial: str
    job_id: str | None
    job_part_id: str | None


@dataclass(frozen=True, slots=True)
class JobState:
    """What a Status signal says of the job.

    Attributes:
        status: ``JobPhase@Status``.
        details: ``JobPhase@StatusDetails``, or None.
        started_at: When the job began.
        phase_started_at: When this phase began.
        ended_at: When the job ended, or None.
        pieces: Finished so far.
        pieces_planned: What the ticket asks for.
        percent: Finished so far, of what will be printed.
        waste: Pieces spoilt so far.
    """

    status: str
    details: str | None
    started_at: str
    phase_started_at: str
    ended_at: str | None
    pieces: int
    pieces_planned: float
    percent: float
    waste: int = 0


def status_signal(
    subject: Subject, sequence: int, at: str, device_status: str, job: JobState | None
) -> bytes:
    """A Status signal: the lane, and the job it works on; without a job the lane is idle since ``at``."""
    root, signal = _signal(subject, "Status", sequence, at)
    add(signal, "StatusQuParams", subject.version, {"DeviceDetails": "Brief", "JobDetails": "Brief"})
    device = add(
        signal,
        "DeviceInfo",
        subject.version,
        {
            "DeviceID": subject.device_id,
            "DeviceStatus": device_status,
            "StatusDetails": _device_details(device_status, job),
            "IdleStartTime": at if job is None else None,
        },
    )
    if job is not None:
        add(device, "JobPhase", subject.version, _job_phase(subject, job))
    return as_bytes(root)


def _device_details(device_status: str, job: JobState | None) -> str | None:
    if device_status == "Stopped" and job is not None:
        return job.details
    return "Good" if device_status == "Running" else None


def resource_signal(subject: Subject, sequence: int, at: str, media: LoadedMedia, used: Used) -> bytes:
    """A Resource signal: m2 of the roll, good and waste, and litres of ink where they are known."""
    root, signal = _signal(subject, "Resource", sequence, at)
    names = "Media Ink" if used.ink_l else "Media"
    query = {"JobID": subject.job_id, "JobPartID": subject.job_part_id, "QueueEntryID": subject.serial}
    add(signal, "ResourceQuParams", subject.version, {**query, "ResourceName": names, "Exact": "true"})
    info = _resource_info(signal, subject, "Media", "m2")
    set_media_amounts(info, used, media.lot_id, subject.version, LOT_ELEMENT_IN_SIGNAL)
    add(
        info,
        "Media",
        subject.version,
        {
            "ID": "Media",
            "Class": "Consumable",
            "Status": "InUse",
            "ProductID": media.product_id,
            "BatchID": media.lot_id,
            "Unit": "m2",
            "MediaUnit": "Roll",
            "Dimension": media.dimension,
        },
    )
    if used.ink_l:
        _ink_info(signal, subject, used)
    return as_bytes(root)


def fault_signal(subject: Subject, sequence: int, at: str, event_id: str, sentence: str) -> bytes:
    """A Notification signal of class Error: a person is needed."""
    root, signal = _signal(subject, "Notification", sequence, at)
    add_fault(signal, subject, f"N-{subject.serial}-{sequence:06d}", at, event_id, sentence)
    return as_bytes(root)


def add_fault(
    parent: "etree._Element", subject: Subject, notification_id: str, at: str, event_id: str, sentence: str
) -> "etree._Element":
    """A Notification of class Error, in a signal or among the audits of a ticket."""
    notification = add(
        parent,
        "Notification",
        subject.version,
        {
            "ID": notification_id,
            "Class": "Error",
            "Type": "Event",
            "JobID": subject.job_id,
            "JobPartID": subject.job_part_id,
            "QueueEntryID": subject.serial,
            "TimeStamp": at,
        },
    )
    add(notification, "Comment", subject.version, {"Language": "en"}).text = sentence
    add(notification, "Event", subject.version, {"EventID": event_id, "EventValue": subject.device_id})
    return notification


def _signal(
    subject: Subject, type_: str, sequence: int, at: str
) -> tuple["etree._Element", "etree._Element"]:
    major, minor = subject.version
    root = new_message({"SenderID": subject.sender_id, "TimeStamp": at, "Version": f"{major}.{minor}"})
    attributes = {"ID": f"S-{subject.serial}-{sequence:06d}", "Type": type_, "Time": at}
    signal = add(root, "Signal", subject.version, attributes)
    signal.set(XSI_TYPE, f"Signal{type_}")
    return root, signal


def _job_phase(subject: Subject, job: JobState) -> dict[str, str | None]:
    return {
        "JobID": subject.job_id,
        "JobPartID": subject.job_part_id,
        "QueueEntryID": subject.serial,
        "Status": job.status,
        "StatusDetails": job.details,
        "StartTime": job.started_at,
        "PhaseStartTime": job.phase_started_at,
        "EndTime": job.ended_at,
        "TotalAmount": number(job.pieces_planned),
        "Amount": number(job.pieces),
        "Waste": number(job.waste),
        "PercentCompleted": number(round(job.percent, 1)),
    }


def _resource_info(signal: "etree._Element", subject: Subject, name: str, unit: str) -> "etree._Element":
    attributes = {
        "ResourceName": name,
        "Usage": "Input",
        "Scope": "Job",
        "DeviceID": subject.device_id,
        "Unit": unit,
    }
    return add(signal, "ResourceInfo", subject.version, attributes)


def _ink_info(signal: "etree._Element", subject: Subject, used: Used) -> None:
    info = _resource_info(signal, subject, "Ink", "l")
    for channel, litres in used.ink_l.items():
        set_actual(info, {"Separation": channel}, litres, subject.version)
    attributes = {
        "ID": "Ink",
        "Class": "Consumable",
        "Status": "InUse",
        "Unit": "l",
        "PartIDKeys": "Separation",
    }
    ink = add(info, "Ink", subject.version, attributes)
    for channel in used.ink_l:
        add(ink, "Ink", subject.version, {"Separation": channel})
