"""What goes to addresses that messages named: finished tickets, and answers to commands that took longer.

Each is a message in the outbox, written with the change it tells of.

``ReturnJMF`` gets a ReturnQueueEntry with the ticket in its package, ``ReturnURL`` the ticket alone; where a message
names both, ReturnJMF counts (JDF specification: from memory). Only addresses of the configured partner are called.
The folder ``returned`` of the source holds the ticket in any case.
"""

from collections.abc import Mapping
from fnmatch import fnmatchcase
from typing import Any

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.reporting import report
from ticketbridge.jdf.package import TICKET_URL, package
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.jmf_partner import JmfEndpoint, JmfSender
from ticketbridge.model.job import Standing
from ticketbridge.model.submission import Submission
from ticketbridge.report.compose import message, return_queue_entry, trouble
from ticketbridge.store.records import Message
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.urls import url_begins_with


def returns_channel(partner: JmfSender) -> str:
    """The name of a partner's channel for finished tickets and acknowledgements."""
    return f"{partner.id}.returns"


def return_address(
    endpoint: JmfEndpoint | None, source_id: str, said: Submission
) -> tuple[JmfSender, str] | None:
    """The partner and the address that a finished ticket goes to; None where that address is not configured."""
    url = said.return_jmf or said.return_url or ""
    for partner in endpoint.senders if endpoint is not None else ():
        named = any(fnmatchcase(said.sender_id, mask) for mask in partner.sender_ids)
        if partner.source == source_id and named:
            return (partner, url) if url_begins_with(url, partner.signal_urls) else None
    return None


def acknowledge_address(
    endpoint: JmfEndpoint | None, source_id: str, url: str
) -> tuple[JmfSender, str] | None:
    """The partner and the address that an Acknowledge goes to; None where that address is not configured."""
    for partner in endpoint.senders if endpoint is not None else ():
        if partner.source == source_id and url_begins_with(url, partner.signal_urls):
            return partner, url
    return None


def post_acknowledge(
    bridge: Bridge, tx: Transaction, job: Standing, asked: Mapping[str, Any], told: Element
) -> bool:
    """Queue an Acknowledge for the address that its command named. False where it named none that is configured.

    Args:
        bridge: The bridge.
        tx: The transaction.
        job: The job.
        asked: What stands in the job's history of the command.
        told: The Acknowledge.
    """
    url = asked.get("acknowledge_url")
    found = url and acknowledge_address(bridge.shop.settings.jmf, job.source, url)
    if not found:
        return False
    channel = returns_channel(found[0])
    seq = tx.next_seq(channel)
    body = _document(bridge, job, told, seq)
    name = f"{job.queue_entry_id}.{asked['message_id']}.jmf"
    tx.queue_message(Message(channel, seq, body, name, bridge.now()))
    return True


def give_back(
    bridge: Bridge, tx: Transaction, job: Standing, ticket: bytes, node_id: str, *, completed: bool
) -> None:
    """Queue the ticket for the address that its submission named, as a part of the transaction that ends the job.

    Args:
        bridge: The bridge.
        tx: The transaction.
        job: The job.
        ticket: The MIS's ticket with the press's node in it.
        node_id: ``JDF@ID`` of that node.
        completed: False where the press broke it off.
    """
    said = tx.submission(tx.job(job.queue_entry_id).claim_id)
    if said is None or not (said.return_jmf or said.return_url):
        return
    found = return_address(bridge.shop.settings.jmf, job.source, said)
    if found is None:
        _tell_not_configured(bridge, tx, job, said.return_jmf or said.return_url or "")
        return
    partner, _ = found
    channel, now = returns_channel(partner), bridge.now()
    seq = tx.next_seq(channel)
    body, ending = ticket, "jdf"
    if said.return_jmf:
        said_back = return_queue_entry(job.queue_entry_id, TICKET_URL, node_id, completed=completed)
        body, ending = package(_document(bridge, job, said_back, seq), ticket), "mjm"
    tx.queue_message(Message(channel, seq, body, f"{job.queue_entry_id}.{ending}", now))


def _document(bridge: Bridge, job: Standing, content: Element, seq: int) -> bytes:
    source = bridge.sources[job.source]
    return message(
        [content],
        sender_id=source.sender_id or bridge.shop.settings.sender_id,
        version=source.jdf_version,
        at=bridge.now(),
        id_prefix=f"R{seq:08d}",
        agent_version=bridge.agent_version,
    )


def _tell_not_configured(bridge: Bridge, tx: Transaction, job: Standing, url: str) -> None:
    finding = Finding("return.not-configured", facts={"queue_entry_id": job.queue_entry_id, "url": url})
    now = bridge.now()
    bridge.notice(finding.code, **finding.facts)
    tx.tell(Event(finding.code, now, job.queue_entry_id, facts=finding.facts))
    text = f"{sentence(finding)} {remedy(finding)}"
    report(bridge, tx, job.source, [trouble(job, "Warning", "ReturnNotConfigured", text, now)])
