"""Commands to queue entries and queues, done by the one who moves jobs; by folder and by HTTP the same."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from ticketbridge.answer.commands import EntryCommand
from ticketbridge.answer.flushing import to_flush
from ticketbridge.answer.queue_filter import QueueFilter
from ticketbridge.decide.release import queue_order
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.passing_on import Asker, ask_the_press
from ticketbridge.flow.queue.changing import about_a_job
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL, State
from ticketbridge.model.queue_messages import ASK, EntryMessage, outcome
from ticketbridge.model.queue_state import OPEN, QueueMessage
from ticketbridge.model.request import Request, Wish
from ticketbridge.model.return_codes import ReturnCode
from ticketbridge.report.compose import queue_status
from ticketbridge.store.transaction import Transaction

WISHES: Final[Mapping[EntryMessage, Wish]] = {
    EntryMessage.HOLD: Wish.HOLD,
    EntryMessage.RESUME: Wish.RESUME,
    EntryMessage.ABORT: Wish.ABORT,
    EntryMessage.REMOVE: Wish.CANCEL,
    EntryMessage.PRIORITY: Wish.PRIORITY,
}
"""What a person could have asked as well."""

REFUSED: Final[Mapping[ReturnCode, str]] = {
    ReturnCode.UNKNOWN_ENTRY: "request.unknown-job",
    ReturnCode.ENTRY_RUNS: "request.runs",
    ReturnCode.TOO_LATE: "request.at-press",
    ReturnCode.ALREADY_SO: "request.already-so",
    ReturnCode.ENTRY_ENDED: "request.not-now",
    ReturnCode.ENTRY_NOT_RUNNING: "request.not-running",
}
"""The finding that says a code of the table of messages in words."""

QUEUE_WISHES: Final[Mapping[Wish, QueueMessage]] = {
    Wish.LANE_HOLD: QueueMessage.HOLD,
    Wish.LANE_RESUME: QueueMessage.RESUME,
}
"""What a person asks of a lane, as the message that would ask the same."""


def command_entries(
    bridge: Bridge,
    tx: Transaction,
    source_id: str,
    command: EntryCommand,
    who: str,
    request_id: str,
    device_id: str | None = None,
) -> Iterator[Finding]:
    """Do one command to every entry of this source that it means; one finding for each.

    Args:
        bridge: The bridge.
        tx: The transaction that it is a part of.
        source_id: Whose entries.
        command: What to do.
        who: Who asks; it stands in the history.
        request_id: The same again, after a crash, changes nothing a second time.
        device_id: Only entries of this lane; None means all.
    """
    if command.fault is not None:
        yield command.fault
        return
    jobs = [job for job in named(tx, source_id, command.entries) if device_id in (None, job.device_id)]
    known = {job.queue_entry_id for job in jobs}
    unknown = [name for name in command.entries.queue_entry_ids if name not in known]
    if not jobs and not unknown:
        said = (command.entries.job_id, command.entries.job_part_id)
        unknown = [" / ".join(name for name in said if name)]
    for name in unknown:
        yield Finding("request.unknown-job", facts={"queue_entry_id": name})
    for job in jobs:
        asker = Asker(who, command.message_id, command.acknowledge_url)
        yield _obey(bridge, tx, job, command, asker, f"{request_id}.{job.queue_entry_id}")


def named(tx: Transaction, source_id: str, entries: QueueFilter) -> list[Standing]:
    """The entries of this source that a filter means; of a name with a history, those that still run."""
    if entries.queue_entry_ids:
        found = [tx.find_standing(name) for name in entries.queue_entry_ids]
        return entries.chosen(job for job in found if job is not None and job.source == source_id)
    jobs = entries.chosen(job for job in tx.jobs_named(source_id, entries.job_id or "") if job.listed)
    return [job for job in jobs if job.state not in FINAL] or jobs[-1:]


def _obey(
    bridge: Bridge, tx: Transaction, job: Standing, command: EntryCommand, asker: Asker, request_id: str
) -> Finding:
    cell, who = outcome(job, command.message), asker.who
    if cell is ASK:
        passed_on = ask_the_press(bridge, tx, job, command.message.value, asker, request_id)
        if passed_on is not None:
            return passed_on
        job = tx.standing(job.queue_entry_id)  # the bridge's own again: its ticket had not left yet
        cell = outcome(job, command.message)
    if isinstance(cell, ReturnCode):
        return refusal(job, command.message, cell)
    if command.completed:
        return Finding("command.never-ran", facts={"queue_entry_id": job.queue_entry_id})
    if command.message is EntryMessage.POSITION:
        return _place(bridge, tx, job, command, who)
    if job.state in FINAL:
        remove_from_list(bridge, tx, [job], who)
        facts = {"queue_entry_id": job.queue_entry_id, "state": State.REMOVED.value}
        return Finding("request.done", facts=facts)
    args = {"queue_entry_id": job.queue_entry_id, "priority": command.priority}
    return about_a_job(bridge, tx, Request(WISHES[command.message], who, args), request_id)


def refusal(job: Standing, message: EntryMessage, code: ReturnCode) -> Finding:
    """Why a message cannot be done to an entry that stands so, by its code."""
    facts = {
        "queue_entry_id": job.queue_entry_id,
        "state": job.state.value,
        "message": message.value,
        "wish": message.value,
        "device_id": job.device_id,
    }
    return Finding(REFUSED[code], facts=facts)


def _place(bridge: Bridge, tx: Transaction, job: Standing, command: EntryCommand, who: str) -> Finding:
    """Give an entry its place among those that the bridge holds for its lane, and those before it theirs."""
    line = sorted((one for one in tx.open_jobs() if _in_line(one, job.device_id)), key=queue_order)
    others = [one for one in line if one.queue_entry_id != job.queue_entry_id]
    names = [one.queue_entry_id for one in others]
    for neighbour in (command.before, command.behind):
        if neighbour is not None and neighbour not in names:
            facts = {"neighbour": neighbour, "device_id": job.device_id}
            return Finding("command.no-neighbour", facts=facts)
    if command.before is not None:
        place = names.index(command.before)
    elif command.behind is not None:
        place = names.index(command.behind) + 1
    else:
        place = min(max(command.position or 0, 0), len(others))
    ordered = [*others[:place], job, *others[place:]]
    last = max(at for at, one in enumerate(ordered) if one.position is not None or one is job)
    for at, one in enumerate(ordered[: last + 1]):
        if one.position != at:
            tx.change_job(one, position=at)
    tx.tell(Event("placed", bridge.now(), job.queue_entry_id, who, {"position": place}))
    moved = tx.standing(job.queue_entry_id)
    size = queue_size(tx, job.device_id)
    report(bridge, tx, job.source, [queue_status(job.device_id, [moved], size)])
    return Finding("request.done", facts={"queue_entry_id": job.queue_entry_id, "state": job.state.value})


def _in_line(job: Standing, device_id: str) -> bool:
    return job.device_id == device_id and job.state in (State.WAITING, State.HELD) and not job.given


def remove_from_list(bridge: Bridge, tx: Transaction, jobs: Sequence[Standing], who: str) -> None:
    """Ended entries leave the queue that the MIS sees. Their history stays, and so does what they stand for."""
    for job in jobs:
        tx.change_job(job, listed=False)
        tx.tell(Event("removed from the queue", bridge.now(), job.queue_entry_id, who))
        shown = replace(job, state=State.REMOVED)
        size = queue_size(tx, job.device_id)
        report(bridge, tx, job.source, [queue_status(job.device_id, [shown], size)])


def flush(
    bridge: Bridge,
    tx: Transaction,
    source_id: str,
    entries: QueueFilter,
    device_ids: Iterable[str],
    who: str,
    request_id: str,
) -> list[Standing]:
    """Remove what has ended, or what the filter says besides, of these lanes. Returns the entries removed."""
    lanes = frozenset(device_ids)
    going = to_flush((job for job in tx.queue_entries(source_id) if job.device_id in lanes), entries)
    remove_from_list(bridge, tx, [job for job in going if job.state in FINAL], who)
    for job in going:
        if job.state not in FINAL:
            request = Request(Wish.CANCEL, who, {"queue_entry_id": job.queue_entry_id})
            about_a_job(bridge, tx, request, f"{request_id}.{job.queue_entry_id}")
    return going


def command_queues(
    bridge: Bridge, tx: Transaction, device_ids: Sequence[str], message: QueueMessage, who: str
) -> Iterator[Finding]:
    """Open, close, hold or resume the queues of these lanes. The caller reads ``bridge.queues`` anew after the commit."""
    for device_id in device_ids:
        before = bridge.queues.get(device_id, OPEN)
        after = before.after(message)
        size = queue_size(tx, device_id)
        status = after.status(running=size.running, full=False)
        if after != before:
            tx.set_queue_state(device_id, after)
            tx.tell(Event(message.value, bridge.now(), None, who, {"device_id": device_id}))
            for source_id in bridge.sources:
                signal = queue_status(device_id, [], size)
                signal[-1].set("Status", status)
                report(bridge, tx, source_id, [signal])
        yield Finding("command.queue-is", facts={"device_id": device_id, "status": status})


def answer_about_lanes(bridge: Bridge, request: Request) -> tuple[Finding, ...]:
    """Hold a lane, so that it is given nothing more, or let it go on. The same request again changes nothing."""
    device_id = str(request.args["device_id"])
    if device_id not in bridge.lanes:
        return (Finding("message.unknown-device", facts={"device_id": device_id}),)
    with bridge.store.transaction() as tx:
        findings = tuple(command_queues(bridge, tx, [device_id], QUEUE_WISHES[request.wish], request.who))
    bridge.read_queues()
    return findings
