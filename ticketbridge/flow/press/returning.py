"""The end of a job: the ticket goes back to the MIS with its audits, then the job is Completed or Aborted.

The returned file is written before the commit that says so, under a name that only this job has; after a
crash between the two the same file is written over with the same meaning, so nothing is lost or doubled.
"""

from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.flow.bridge import Bridge, job_at
from ticketbridge.flow.moving_out import NOTE_ENDING, reasons_by_part
from ticketbridge.flow.plan.learning import note_actual
from ticketbridge.flow.press.gang_members import members_at, returned_nodes
from ticketbridge.flow.press.giving_back import give_back
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.flow.roll_account import charge
from ticketbridge.jdf.message_parts import Phase
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.event import Event
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL, State, Step, after
from ticketbridge.report.compose import job_status, queue_status, return_queue_entry
from ticketbridge.report.return_ticket import mark_refused, returned_ticket, unprinted_ticket
from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask, resolved
from ticketbridge.spool.places import SourcePlaces
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.names import jdf

ENDS: Final = ("Completed", "Aborted")
"""Phases after which none comes."""


def return_job(bridge: Bridge, root: Element, device_id: str) -> None:
    """A press gave a ticket back: finish its job, or the members of its gang, and return the MIS's own tickets."""
    press_part = root.get("JobPartID", "")
    with bridge.store.transaction() as tx:
        members = members_at(tx, device_id, press_part)
        job = job_at(bridge, tx, device_id, press_part)
        nodes = returned_nodes(bridge, tx, root, members) if members else [(job, root)] if job else []
    if not nodes:
        facts = {"device_id": device_id, "job_id": root.get("JobID"), "job_part_id": root.get("JobPartID")}
        bridge.notice("press.unknown-job", **facts)
        with bridge.store.transaction() as tx:
            tx.tell(Event("press.unknown-job", bridge.now(), who=device_id, facts=facts))
        return
    for one, node in nodes:
        if one.state not in FINAL:
            _return(bridge, node, one)


def _return(bridge: Bridge, root: Element, job: Standing) -> None:
    """Finish one job, and return the MIS's own ticket with this node of the press."""
    completed = root.get("Status") != "Aborted"
    amount = _good_amount(root, job)
    name = f"{job.queue_entry_id}.jdf"
    places = bridge.source_places(job.source)
    ticket = _write_returned(bridge, job, root, amount, completed=completed)
    with bridge.store.transaction() as tx:
        job = tx.standing(job.queue_entry_id)
        messages = []
        if job.phase not in ENDS:
            messages.append(_end_of_work(job, amount, completed=completed))
        if job.state is not State.PENDING_RETURN:
            job = _end(bridge, tx, job, amount, completed=completed)
            messages.append(queue_status(job.device_id, [job], queue_size(tx, job.device_id)))
        step = Step.RETURNED if completed else Step.RETURNED_BROKEN_OFF
        state = after(job.state, step)
        assert state is not None  # noqa: S101  PendingReturn leads to both ends
        changes: dict[str, Any] = {
            "state": state,
            "status_details": _details(completed=completed),
            "phase": state.value,
            "amount": amount,
        }
        tx.change_job(job, **changes)
        tx.tell(Event(step, bridge.now(), job.queue_entry_id, job.device_id, {"file": name}))
        if completed:
            note_actual(bridge, tx, job, root)
        ended = replace(job, **changes)
        url = (resolved(places.returned) / name).as_uri()
        messages += [
            queue_status(job.device_id, [ended], queue_size(tx, job.device_id)),
            return_queue_entry(job.queue_entry_id, url, root.get("ID", ""), completed=completed),
        ]
        report(bridge, tx, job.source, messages)
        give_back(bridge, tx, ended, ticket, root.get("ID", ""), completed=completed)


def _details(*, completed: bool) -> str:
    return "JobCompletedSuccessfully" if completed else "JobCanceledByOperator"


def _end_of_work(job: Standing, amount: float, *, completed: bool) -> Element:
    """The last phase, where no press told of it: its ticket came by a quicker way, or it sends no signals."""
    phase = Phase("Completed" if completed else "Aborted", _details(completed=completed))
    return job_status(replace(job, amount=amount, status_details=phase.status_details), phase)


def _end(bridge: Bridge, tx: Transaction, job: Standing, amount: float, *, completed: bool) -> Standing:
    """The returned ticket came before the signal that the work ended, or the press sends none."""
    step = Step.FINISHED if completed else Step.BROKEN_OFF
    now = bridge.now()
    left_m = charge(bridge, tx, job, job.roll_length_mm / 1000)
    changes: dict[str, Any] = {
        "state": State.PENDING_RETURN,
        "ended_at": now,
        "started_at": job.started_at or now,
        "amount": amount,
    }
    tx.change_job(job, **changes)
    tx.tell(Event(step, now, job.queue_entry_id, job.device_id, {"length_left_m": left_m}))
    return replace(job, **changes)


def _good_amount(root: Element, job: Standing) -> float:
    """Good pieces by the press's own links; where it gives none, what its signals said."""
    for link in root.iterfind(f"{jdf('ResourceLinkPool')}/{jdf('ComponentLink')}"):
        if link.get("Usage") != "Output":
            continue
        for part_amount in link.iterfind(f"{jdf('AmountPool')}/{jdf('PartAmount')}"):
            part = part_amount.find(jdf("Part"))
            if part is not None and part.get("Condition") == "Good" and part_amount.get("ActualAmount"):
                return float(part_amount.get("ActualAmount", "0"))
        if link.get("ActualAmount"):
            return float(link.get("ActualAmount", "0"))
    return job.amount


def _write_returned(
    bridge: Bridge, job: Standing, pressed: Element, amount: float, *, completed: bool
) -> bytes:
    """Hang the press's node into the ticket as the MIS sent it, and put it where the MIS looks."""
    with bridge.store.transaction() as tx:
        dropped = _as_dropped(bridge, tx, job)
    hung_in: Element | None = pressed
    if dropped is not None:
        original = dropped
    else:  # order lines or artwork alone: the press's ticket is the only one there is
        original, hung_in = deepcopy(pressed), None
        original.set("JobPartID", job.job_part_id)
    data = returned_ticket(
        original,
        hung_in,
        job_part_id=job.job_part_id,
        queue_entry_id=job.queue_entry_id,
        amount=amount,
        completed=completed,
        at=bridge.now(),
        agent_version=bridge.agent_version,
    )
    _show(bridge, job, data)
    return data


def return_unprinted(bridge: Bridge, tx: Transaction, job: Standing) -> None:
    """A job that no press ever had was aborted: the MIS has its ticket back, as a part of the transaction that ends it.

    Order lines and artwork alone have no ticket that could go back.
    """
    dropped = _as_dropped(bridge, tx, job)
    if dropped is None:
        return
    ticket, node_id = unprinted_ticket(
        dropped,
        job_part_id=job.job_part_id,
        queue_entry_id=job.queue_entry_id,
        at=bridge.now(),
        agent_version=bridge.agent_version,
    )
    url = _show(bridge, job, ticket)
    report(bridge, tx, job.source, [return_queue_entry(job.queue_entry_id, url, node_id, completed=False)])
    give_back(bridge, tx, job, ticket, node_id, completed=False)


def _as_dropped(bridge: Bridge, tx: Transaction, job: Standing) -> Element | None:
    """The ticket as the MIS sent it, its refused items marked; None where the job came as something else."""
    places = bridge.source_places(job.source)
    claim_id = tx.job(job.queue_entry_id).claim_id
    dropped = ask(places.folder, lambda: _lying(places, claim_id))
    if dropped is None or kind_of(dropped.name) is not Kind.TICKET:
        return None
    _, findings = tx.intake_outcome(claim_id)
    original = parse(ask(dropped, dropped.read_bytes), bridge.shop.settings.limits, dropped.name)
    mark_refused(original, reasons_by_part(findings), bridge.now(), bridge.agent_version)
    return original


def _lying(places: SourcePlaces, claim_id: str) -> Path | None:
    lying = (
        path
        for folder in (places.accepted, places.claimed)
        for path in folder.glob(f"{claim_id}~*")
        if not path.name.endswith(NOTE_ENDING)
    )
    return next(lying, None)


def _show(bridge: Bridge, job: Standing, ticket: bytes) -> str:
    """Put a ticket where the MIS looks; its URL."""
    folder = bridge.source_places(job.source).returned
    path = folder / f"{job.queue_entry_id}.jdf"

    def show() -> None:
        durable.require_ready(folder)
        durable.show_new(path, ticket)
        durable.sync_file(path)
        durable.sync_folder(folder)

    ask(folder, show)
    return (resolved(folder) / path.name).as_uri()
