"""What is asked of one job, by a person or by the MIS, as a part of a transaction."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.parts import Planning
from ticketbridge.flow.press.passing_on import KINDS, Asker, ask_the_press
from ticketbridge.flow.press.returning import return_unprinted
from ticketbridge.flow.press.submitted_to_press import say_whether_delivered
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import HELD_ON_CREATE, Standing, as_text, queue_entry_id_of, queued_details
from ticketbridge.model.job_states import FINAL, State, Step, after
from ticketbridge.model.request import Request, Wish
from ticketbridge.report.compose import queue_status
from ticketbridge.store.transaction import Transaction


def about_a_job(bridge: Bridge, tx: Transaction, request: Request, request_id: str) -> Finding:
    """Hold, resume, cancel, another due time or priority, one more printing, as a part of this transaction."""
    name = str(request.args.get("queue_entry_id"))
    job = tx.find_standing(name)
    if job is None:
        return Finding("request.unknown-job", facts={"queue_entry_id": name})
    if job.given and job.state not in FINAL and request.wish in KINDS:
        passed_on = ask_the_press(bridge, tx, job, KINDS[request.wish], Asker(request.who), request_id)
        if passed_on is not None:
            return passed_on
        job = tx.standing(name)
    if not tx.is_new_message("request", request_id, bridge.now()):
        return Finding("request.done", facts={"queue_entry_id": name, "state": job.state.value})
    if request.wish is Wish.PRINT_AGAIN:
        return _print_again(bridge, tx, job, request)
    if request.wish in (Wish.DELIVERED, Wish.SEND_AGAIN):
        return say_whether_delivered(bridge, tx, job, request)
    if job.given and job.state not in FINAL:
        return Finding("request.at-press", facts={"queue_entry_id": name, "device_id": job.device_id})
    changes = CHANGES[request.wish](job, request.args)
    if changes is not None and request.wish is Wish.RESUME:
        changes["status_details"] = queued_details(tx.job(name))
    if changes is None:
        facts = {"queue_entry_id": name, "state": job.state.value, "wish": request.wish.value}
        return Finding("request.not-now", facts=facts)
    tx.change_job(job, **changes)
    told = {key: str(value) for key, value in changes.items()}
    tx.tell(Event(request.wish, bridge.now(), name, request.who, told))
    changed = tx.standing(name)
    report(bridge, tx, job.source, [queue_status(job.device_id, [changed], queue_size(tx, job.device_id))])
    if request.wish is Wish.ABORT:
        return_unprinted(bridge, tx, changed)
    return Finding("request.done", facts={"queue_entry_id": name, "state": changed.state.value})


def plan_anew(bridge: Bridge, tx: Transaction, planning: Planning, claim_id: str) -> None:
    """A ticket that says the same but for the planning: the job has another due time or priority, is held or let go.

    From here on the job answers to that ticket: to its identity, and it is that file which goes back in the end.
    """
    job = planning.standing
    changes: dict[str, Any] = {
        "due": planning.due and as_text(planning.due),
        "priority": planning.priority,
        "identity": planning.identity,
        "printing": planning.printing,
        "claim_id": claim_id,
    }
    state = after(job.state, planning.step) if planning.step else None
    if state is not None:
        held = planning.step is Step.HELD
        details = HELD_ON_CREATE if held else queued_details(tx.job(job.queue_entry_id))
        changes |= {"state": state, "status_details": details}
    tx.change_job(job, **changes)
    facts = {"due": changes["due"], "priority": planning.priority, "claim_id": claim_id}
    tx.tell(Event(planning.step or "planned anew", bridge.now(), job.queue_entry_id, facts=facts))


def _step(step: Step, **changes: Any) -> "Callable[[Standing, Mapping[str, Any]], dict[str, Any] | None]":
    def change(job: Standing, _args: Mapping[str, Any]) -> dict[str, Any] | None:
        state = after(job.state, step)
        return None if state is None else {"state": state, **changes}

    return change


def _due(job: Standing, args: Mapping[str, Any]) -> dict[str, Any] | None:
    due = datetime.fromisoformat(str(args["due"]))
    return {"due": as_text(due)} if job.state in (State.WAITING, State.HELD) else None


def _priority(job: Standing, args: Mapping[str, Any]) -> dict[str, Any] | None:
    priority = min(max(int(args["priority"]), 0), 100)
    return {"priority": priority} if job.state in (State.WAITING, State.HELD) else None


CHANGES: Final[Mapping[Wish, Callable[[Standing, Mapping[str, Any]], dict[str, Any] | None]]] = {
    Wish.HOLD: _step(Step.HELD, status_details="JobHeld"),
    Wish.RESUME: _step(Step.RESUMED),
    Wish.CANCEL: _step(Step.CANCELLED, status_details="JobCanceledByUser"),
    Wish.ABORT: _step(Step.ABORTED, status_details="JobCanceledByUser"),
    Wish.DUE: _due,
    Wish.PRIORITY: _priority,
}
"""What each wish changes in a job that the press does not have; None where it does not fit the job's state."""


def _print_again(bridge: Bridge, tx: Transaction, job: Standing, request: Request) -> Finding:
    """One more printing of a finished job: a job of its own, by a person's explicit word."""
    if job.state not in (State.COMPLETED, State.ABORTED):
        facts = {"queue_entry_id": job.queue_entry_id, "state": job.state.value, "wish": request.wish.value}
        return Finding("request.not-now", facts=facts)
    number, now = next(bridge.numbers), bridge.now()
    name = queue_entry_id_of(number)
    before = tx.job(job.queue_entry_id)
    printings = tx.known_identities([before.identity])[before.identity].printings
    again = replace(before, number=number, queue_entry_id=name, printing=printings + 1, submitted_at=now)
    tx.add_jobs([again])
    told: dict[str, Any] = {"of": job.queue_entry_id, "printing": again.printing}
    tx.tell(Event(request.wish, now, name, request.who, told))
    made = tx.standing(name)
    report(bridge, tx, job.source, [queue_status(job.device_id, [made], queue_size(tx, job.device_id))])
    return Finding("request.done", facts={"queue_entry_id": name, "state": made.state.value})
