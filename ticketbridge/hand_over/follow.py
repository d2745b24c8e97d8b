"""What a press says, by file or by message: plain records. Pure; what they do to a job is ``flow``'s business."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from lxml import etree

from ticketbridge.jdf.spans import Unreadable, moment_of
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf


@dataclass(frozen=True, slots=True)
class PhaseSaid:
    """A JobPhase: where the press is with a job. Amounts count since the job started, in pieces."""

    device_id: str
    job_id: str
    job_part_id: str
    status: str
    status_details: str | None
    amount: float
    waste: float
    total_amount: float
    percent_completed: float
    rest_time: str | None
    start: datetime | None
    phase_start: datetime | None


@dataclass(frozen=True, slots=True)
class DeviceSaid:
    """A DeviceInfo without a job: the lane itself."""

    device_id: str
    device_status: str
    status_details: str | None


@dataclass(frozen=True, slots=True)
class UseSaid:
    """A ResourceInfo: what a job has used so far, per lot or separation."""

    device_id: str
    job_id: str
    job_part_id: str
    resource: str
    unit: str
    amounts: tuple[tuple[str, str, float], ...]
    """(lot or separation, Good or Waste or empty, amount)."""


@dataclass(frozen=True, slots=True)
class InkSaid:
    """A ResourceInfo without a job: how full an ink of the lane is."""

    device_id: str
    separation: str
    level: str | None
    available_l: float | None


@dataclass(frozen=True, slots=True)
class NoteSaid:
    """A Notification of the press."""

    device_id: str
    job_id: str | None
    job_part_id: str | None
    severity: str
    event_id: str | None
    text: str


@dataclass(frozen=True, slots=True)
class EntrySaid:
    """A QueueEntry of the press's queue."""

    device_id: str
    job_id: str
    job_part_id: str
    status: str
    status_details: str | None
    press_entry_id: str


Said = PhaseSaid | DeviceSaid | UseSaid | InkSaid | NoteSaid | EntrySaid


@dataclass(frozen=True, slots=True)
class Signal:
    """One message with everything it says."""

    sender_id: str
    message_id: str
    said: tuple[Said, ...]


def comment_of(message: Element) -> str:
    """What a message says for people."""
    comment = message.find(f".//{jdf('Comment')}")
    return "" if comment is None else " ".join((comment.text or "").split())


def read_signals(root: Element, device_id: str) -> list[Signal]:
    """The signals of a checked JMF document, in order.

    Args:
        root: The JMF element.
        device_id: The lane whose folder it lay in; used where the message names no device.
    """
    sender_id = root.get("SenderID", "")
    signals = []
    for message in root.findall(jdf("Signal")):
        said = tuple(_said(message, device_id))
        signals.append(Signal(sender_id, message.get("ID", ""), said))
    return signals


def read_answers(root: Element, device_id: str) -> list[Said]:
    """What the Responses of a polled press say, in order: the same as its signals would.

    Args:
        root: The JMF element.
        device_id: The lane that was asked.
    """
    told = [said for message in root.findall(jdf("Response")) for said in _said(message, device_id)]
    return [
        said for said in told if not isinstance(said, NoteSaid)
    ]  # a Response's note is about the question


def _said(message: Element, device_id: str) -> Iterator[Said]:
    for info in message.findall(jdf("DeviceInfo")):
        yield from _device_said(info, device_id)
    query = message.find(jdf("ResourceQuParams"))
    for resource in message.findall(jdf("ResourceInfo")):
        if query is not None and query.get("JobID"):
            yield _use_said(resource, query, device_id)
        elif resource.get("ResourceName") == "Ink":
            yield from _ink_said(resource, device_id)
    for note in message.findall(jdf("Notification")):
        event, comment = note.find(jdf("Event")), note.find(jdf("Comment"))
        yield NoteSaid(
            device_id,
            note.get("JobID"),
            note.get("JobPartID"),
            note.get("Class", "Information"),
            None if event is None else event.get("EventID"),
            "" if comment is None else (comment.text or "").strip(),
        )
    for queue in message.findall(jdf("Queue")):
        for entry in queue.iterfind(jdf("QueueEntry")):
            yield EntrySaid(
                queue.get("DeviceID", device_id),
                entry.get("JobID", ""),
                entry.get("JobPartID", ""),
                entry.get("Status", ""),
                entry.get("StatusDetails"),
                entry.get("QueueEntryID", ""),
            )


def _device_said(info: Element, device_id: str) -> Iterator[Said]:
    device_id = info.get("DeviceID", device_id)
    phases = info.findall(jdf("JobPhase"))
    if not phases:
        yield DeviceSaid(device_id, info.get("DeviceStatus", "Unknown"), info.get("StatusDetails"))
    for phase in phases:
        yield PhaseSaid(
            device_id,
            phase.get("JobID", ""),
            phase.get("JobPartID", ""),
            phase.get("Status", ""),
            phase.get("StatusDetails"),
            _number(phase, "Amount"),
            _number(phase, "Waste"),
            _number(phase, "TotalAmount"),
            _number(phase, "PercentCompleted"),
            phase.get("RestTime"),
            _moment(phase, "StartTime"),
            _moment(phase, "PhaseStartTime"),
        )


def _ink_said(resource: Element, device_id: str) -> Iterator[InkSaid]:
    """How full an ink is, in litres (the unit of Ink); of rolls the bridge keeps the account itself."""
    named = [resource.find(jdf("Part")), *resource.iter(jdf("Ink"))]
    separation = next(
        (one.get("Separation") for one in named if one is not None and one.get("Separation")), None
    )
    if separation is not None:
        left = resource.get("AvailableAmount") if resource.get("Unit", "l") == "l" else None
        yield InkSaid(
            resource.get("DeviceID", device_id),
            separation,
            resource.get("Level"),
            None if left is None else float(left),
        )


def _use_said(resource: Element, query: Element, device_id: str) -> UseSaid:
    amounts = []
    for part_amount in resource.iterfind(f"{jdf('AmountPool')}/{jdf('PartAmount')}"):
        part = part_amount.find(jdf("Part"))
        part = etree.Element("none") if part is None else part
        which = part.get("LotID") or part.get("Separation") or ""
        amounts.append((which, part.get("Condition", ""), _number(part_amount, "ActualAmount")))
    return UseSaid(
        resource.get("DeviceID", device_id),
        query.get("JobID", ""),
        query.get("JobPartID", ""),
        resource.get("ResourceName", ""),
        resource.get("Unit", ""),
        tuple(amounts),
    )


def _number(element: Element, name: str) -> float:
    return float(element.get(name, "0"))


def _moment(element: Element, name: str) -> datetime | None:
    """None also for INF, and for what no calendar of ours reaches: no job stops for it."""
    try:
        return moment_of(element.get(name, ""))
    except Unreadable:
        return None
