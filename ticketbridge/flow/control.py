"""Control tickets: a JMF dropped in a hot folder is done and answered, all of it in one transaction."""

from collections.abc import Iterator, Sequence

from ticketbridge.accept.claim import Claimed, split_attempts
from ticketbridge.accept.commands import QueueCommand, read_commands
from ticketbridge.accept.read import Content, content_of
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.changing import about_a_job
from ticketbridge.flow.moving_out import ACCEPTED, REFUSED, move_out
from ticketbridge.flow.reporting import report
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL
from ticketbridge.model.request import Request
from ticketbridge.report.compose import refused, response
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
        for position, command in enumerate(read_commands(root)):
            request_id = f"{split_attempts(claimed.claim_id)[0]}.{position}"
            findings = list(_done(bridge, tx, claimed.source_id, command, sender, request_id))
            responses.append(response(command.message_id, command.kind, findings, bridge.now()))
        _record(tx, bridge, claimed, content, ACCEPTED, ())
        report(bridge, tx, claimed.source_id, responses)
    move_out(bridge, claimed, ACCEPTED, ())


def _done(
    bridge: Bridge, tx: Transaction, source_id: str, command: QueueCommand, sender: str, request_id: str
) -> Iterator[Finding]:
    """Do one command to every job that it names; one finding for each."""
    if command.fault is not None or command.wish is None:
        yield command.fault or Finding("command.not-done", facts={"kind": command.kind})
        return
    jobs = _named(tx, source_id, command)
    known = {job.queue_entry_id for job in jobs}
    unknown = [name for name in command.queue_entry_ids if name not in known]
    if not jobs and not unknown:
        unknown = [" / ".join(name for name in (command.job_id, command.job_part_id) if name)]
    for name in unknown:
        yield Finding("request.unknown-job", facts={"queue_entry_id": name})
    for job in jobs:
        args: dict[str, str | int] = {
            "queue_entry_id": job.queue_entry_id,
            "message_id": command.message_id,
        }
        if command.priority is not None:
            args["priority"] = command.priority
        request = Request(command.wish, sender, args)
        yield about_a_job(bridge, tx, request, f"{request_id}.{job.queue_entry_id}")


def _named(tx: Transaction, source_id: str, command: QueueCommand) -> list[Standing]:
    """The jobs of this source that a command means; of a name with a history, those that still run."""
    if command.queue_entry_ids:
        found = [tx.find_standing(name) for name in command.queue_entry_ids]
        return [job for job in found if job is not None and job.source == source_id]
    jobs = [
        job
        for job in tx.jobs_named(source_id, command.job_id or "")
        if command.job_part_id in (None, job.job_part_id)
    ]
    return [job for job in jobs if job.state not in FINAL] or jobs[-1:]


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
