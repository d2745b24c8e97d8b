"""The messages to a press that speaks JMF: submit, ask, subscribe, and commands about an entry of its queue.

Each function makes one whole document. The same arguments make the same bytes, so that a repeat is one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from ticketbridge.jdf.package import TICKET_URL, package
from ticketbridge.jdf.versions import fit_to_version
from ticketbridge.jdf.writing import Element, as_bytes, child, jdf_root, moment

SUBSCRIBED: Final = ("Status", "QueueStatus", "Resource", "Notification")
"""What the bridge wants to hear of a press."""

FILTER_SINCE: Final = "1.5"
"""Version that brought ``HoldQueueEntryParams`` and its like; before it a command names its entry directly."""


@dataclass(frozen=True, slots=True)
class Letterhead:
    """Who writes to which lane, and in which version."""

    sender_id: str
    device_id: str
    version: str
    agent_version: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A job as the press knows it.

    Attributes:
        job_id: ``JDF@JobID``.
        job_part_id: The part in the lane's ticket, which ends in our queue entry.
        press_entry_id: Its name in the press's queue, where that is known.
    """

    job_id: str
    job_part_id: str
    press_entry_id: str | None = None


def submit(
    head: Letterhead,
    message_id: str,
    at: datetime,
    ticket: bytes,
    *,
    priority: int,
    return_jmf: str | None,
) -> bytes:
    """SubmitQueueEntry with its ticket as a package (``multipart/related``)."""
    command = child(
        None, "Command", xsi_type="CommandSubmitQueueEntry", ID=message_id, Type="SubmitQueueEntry"
    )
    params = child(command, "QueueSubmissionParams", URL=TICKET_URL, Priority=str(priority))
    if return_jmf:
        params.set("ReturnJMF", return_jmf)
    return package(_document(head, at, [command]), ticket)


def ask_queue(head: Letterhead, message_id: str, at: datetime, entry: Entry | None = None) -> bytes:
    """QueueStatus: one entry by its JobID and JobPartID, or all."""
    return _document(head, at, [_queue_query(message_id, entry)])


def ask_all(head: Letterhead, message_id: str, at: datetime) -> bytes:
    """Where the lane and all of its queue stand: a Status and a QueueStatus query in one document."""
    status = child(None, "Query", xsi_type="QueryStatus", ID=f"{message_id}-0", Type="Status")
    child(status, "StatusQuParams", DeviceDetails="Brief", JobDetails="Brief")
    return _document(head, at, [status, _queue_query(f"{message_id}-1", None)])


def subscribe(head: Letterhead, message_id: str, at: datetime, kind: str, url: str) -> bytes:
    """A Query that opens a channel, named by the message's ID."""
    xsi_type = (
        None if kind == "Notification" else f"Query{kind}"
    )  # the schema has no such type with a Subscription
    query = child(None, "Query", xsi_type=xsi_type, ID=message_id, Type=kind)
    child(query, "Subscription", URL=url, ChannelMode="Reliable", RetryPolicy="RetryForever")
    if kind == "Status":
        child(query, "StatusQuParams", DeviceDetails="Brief", JobDetails="Brief")
    elif kind == "Resource":
        child(query, "ResourceQuParams", ResourceName="Media Ink", Exact="true")
    elif kind == "QueueStatus":
        child(query, "QueueFilter", QueueEntryDetails="Brief", UpdateGranularity="ChangesOnly")
    else:
        child(query, "NotificationFilter", Classes="Event Information Warning Error Fatal")
    return _document(head, at, [query])


def about_an_entry(head: Letterhead, message_id: str, at: datetime, kind: str, entry: Entry) -> bytes:
    """Hold, Resume, Suspend, Abort or Remove for one entry of the press's queue."""
    command = child(None, "Command", xsi_type=f"Command{kind}", ID=message_id, Type=kind)
    if head.version < FILTER_SINCE:
        child(command, "QueueEntryDef", QueueEntryID=entry.press_entry_id or "")
    else:
        params = child(command, f"{kind}Params")
        if kind == "AbortQueueEntry":
            params.set("EndStatus", "Aborted")
        _name(child(params, "QueueFilter"), entry)
    return _document(head, at, [command])


def _queue_query(message_id: str, entry: Entry | None) -> Element:
    query = child(None, "Query", xsi_type="QueryQueueStatus", ID=message_id, Type="QueueStatus")
    wanted = child(query, "QueueFilter", QueueEntryDetails="Brief")
    if entry is not None:
        wanted.set("JobID", entry.job_id)
        wanted.set("JobPartID", entry.job_part_id)
    return query


def _name(wanted: Element, entry: Entry) -> None:
    if entry.press_entry_id:
        child(wanted, "QueueEntryDef", QueueEntryID=entry.press_entry_id)
    else:
        wanted.set("JobID", entry.job_id)
        wanted.set("JobPartID", entry.job_part_id)


def _document(head: Letterhead, at: datetime, messages: Sequence[Element]) -> bytes:
    root = jdf_root(
        "JMF",
        SenderID=head.sender_id,
        DeviceID=head.device_id,
        TimeStamp=moment(at),
        Version=head.version,
        MaxVersion=head.version,
        AgentName="ticketbridge",
        AgentVersion=head.agent_version,
    )
    root.extend(messages)
    fit_to_version(root, head.version)
    return as_bytes(root)
