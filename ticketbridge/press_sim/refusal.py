"""A ticket that cannot be printed: said so, given back, and set aside with the reason beside it."""

from dataclasses import replace
from pathlib import Path
from typing import Final

from lxml import etree

from ticketbridge.press_sim import durable, safe_xml
from ticketbridge.press_sim.answers import report, return_ticket
from ticketbridge.press_sim.jmf import Subject, fault_signal
from ticketbridge.press_sim.record import Record
from ticketbridge.press_sim.returned import aborted_ticket, version_to_write
from ticketbridge.press_sim.settings import LaneSettings, PressSettings
from ticketbridge.press_sim.ticket import is_ticket

EVENT_ID: Final = "TicketRefused"
_LONGEST_REASON: Final = 500


def sentence_for_people(text: str) -> str:
    """A reason as it may stand in an XML document and on a screen: printable, and not endless."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)[:_LONGEST_REASON]


def set_aside(press: PressSettings, lane: LaneSettings, path: Path, record: Record, folder: Path) -> None:
    """Answer a refused ticket and put it away; goes on where a kill interrupted it.

    Args:
        press: The press.
        lane: The lane that was given the ticket.
        path: The taken ticket; its name is the serial.
        record: Its record, which holds the refusal.
        folder: Where refused tickets are kept.
    """
    refusal = record.refusal
    if refusal is None:
        raise ValueError(f"{path.name} is not refused")
    root = _document(path)
    subject = Subject(
        sender_id=press.sender_id,
        version=press.jdf_version,
        device_id=lane.device_id,
        serial=path.stem,
        job_id=None if root is None else root.get("JobID"),
        job_part_id=None if root is None else root.get("JobPartID"),
    )
    report(
        lane.status,
        path.stem,
        refusal.sequence,
        record,
        lambda: fault_signal(subject, refusal.sequence, refusal.at, EVENT_ID, refusal.reason),
    )
    if root is not None:
        written = replace(subject, version=version_to_write(root, press.jdf_version))
        return_ticket(
            lane.returned,
            path.stem,
            record,
            lambda: aborted_ticket(root, written, refusal.at, EVENT_ID, refusal.reason),
        )
    durable.write(folder / f"{path.stem}.txt", f"{refusal.at} {refusal.reason}\n".encode())
    durable.move(path, folder / path.name)


def _document(path: Path) -> "etree._Element | None":
    """The ticket, where it is a JDF that can be written back."""
    try:
        root = safe_xml.read(path)
    except safe_xml.NotReadable:
        return None
    return root if is_ticket(root) else None
