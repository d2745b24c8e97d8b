"""Control tickets: a JMF dropped in a hot folder is done and answered, all of it in one transaction."""

from collections.abc import Iterator, Sequence

from ticketbridge.accept.claim import Claimed, split_attempts
from ticketbridge.accept.read import Content, content_of
from ticketbridge.answer.commands import entry_command
from ticketbridge.answer.messages import Message, messages_of
from ticketbridge.answer.responses import response
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.moving_out import ACCEPTED, REFUSED, move_out
from ticketbridge.flow.queue.commanding import command_entries
from ticketbridge.flow.reporting import report
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding, Place
from ticketbridge.report.compose import refused
from ticketbridge.spool import durable
from ticketbridge.store.records import Intake
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.names import jdf


def control(bridge: Bridge, claimed: Claimed) -> None:
    """Do what a JMF asks, answer each of its messages, and move it on.

    The answers are committed with the changes they tell of, so a crash repeats neither.
    """
    limits = bridge.shop.settings.limits
    content = content_of(claimed.path, claimed.original_name, limits.ticket_bytes)
    durable.sync_folder(claimed.path.parent)
    try:
        root = parse(content.data, limits, claimed.original_name)
        findings = tuple(check(root, claimed.original_name))
        if root.tag != jdf("JMF") and not refuses(findings):
            findings = (*findings, Finding("command.no-jmf", Place(claimed.original_name)))
    except XmlRefused as refusal:
        root, findings = None, refusal.findings
    if root is None or refuses(findings):
        _refuse(bridge, claimed, content, findings)
    else:
        _answer(bridge, claimed, content, root)


def _refuse(bridge: Bridge, claimed: Claimed, content: Content, findings: Sequence[Finding]) -> None:
    if not claimed.whole:
        findings = (Finding("intake.unfinished", Place(claimed.original_name)), *findings)
    now = bridge.now()
    with bridge.store.transaction() as tx:
        _record(tx, bridge, claimed, content, REFUSED, findings)
        report(bridge, tx, claimed.source_id, [refused(claimed.original_name, findings, None, now)])
    move_out(bridge, claimed, REFUSED, findings)


def _answer(bridge: Bridge, claimed: Claimed, content: Content, root: Element) -> None:
    sender = f"{root.get('SenderID', '')} by {claimed.original_name}"[:63]
    with bridge.store.transaction() as tx:
        responses = []
        for position, message in enumerate(messages_of(root)):
            request_id = f"{split_attempts(claimed.claim_id)[0]}.{position}"
            findings = list(_done(bridge, tx, claimed.source_id, message, sender, request_id))
            responses.append(response(message.message_id, message.kind, findings, bridge.now()))
        _record(tx, bridge, claimed, content, ACCEPTED, ())
        report(bridge, tx, claimed.source_id, responses)
    move_out(bridge, claimed, ACCEPTED, ())


def _done(
    bridge: Bridge, tx: Transaction, source_id: str, message: Message, sender: str, request_id: str
) -> Iterator[Finding]:
    """Do one message; one finding for each entry that it names."""
    command = entry_command(message)
    if command is None:
        yield Finding("command.not-done", facts={"kind": message.kind})
        return
    yield from command_entries(bridge, tx, source_id, command, sender, request_id)


def _record(
    tx: Transaction,
    bridge: Bridge,
    claimed: Claimed,
    content: Content,
    place: str,
    findings: Sequence[Finding],
) -> None:
    intake = Intake(
        claimed.claim_id, claimed.source_id, claimed.original_name, place, content.sha256, findings
    )
    tx.record_intakes([intake], bridge.now())
