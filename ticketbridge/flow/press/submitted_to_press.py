"""A ticket that the bridge submits to a press by message: what the talk came to, applied to the job.

The talk itself is ``daemon.press_line``'s, in a thread of its own; the moves it makes of a delivery are one row
each. What concerns the job comes here, to the one who moves jobs. ``hand_over.submission`` holds the rule.
"""

from dataclasses import dataclass, replace

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.following import NOT_SURE
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.hand_over.deliver import leftovers, queue_entry_of, withdraw
from ticketbridge.hand_over.submission import Move
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State, Step
from ticketbridge.model.request import Request, Wish
from ticketbridge.report.compose import queue_status, trouble
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.store.records import DeliveryState
from ticketbridge.store.transaction import Transaction

NOT_BEGUN = (State.WAITING, State.HELD)
"""States in which a press that has a ticket has not begun with it."""


@dataclass(frozen=True, slots=True)
class SubmissionSettled:
    """What became of a submission: delivered, refused, or a person must be asked."""

    device_id: str
    queue_entry_id: str
    move: Move
    press_entry_id: str | None = None
    reason: str = ""


def settle_submission(bridge: Bridge, submitted: SubmissionSettled) -> None:
    """Apply it in one transaction; then the ticket under its temporary name has served."""
    name = submitted.queue_entry_id
    with bridge.store.transaction() as tx:
        delivery = tx.delivery(name)
        if submitted.move is Move.DELIVERED:
            before = (*NOT_SURE, DeliveryState.DELIVERED)  # the press may have spoken of it first
            tx.move_delivery(name, before, DeliveryState.DELIVERED, submitted.press_entry_id)
            facts = {"press_entry_id": submitted.press_entry_id}
            tx.tell(Event("submitted", bridge.now(), name, submitted.device_id, facts))
        elif submitted.move is Move.REFUSED:
            _refused(bridge, tx, submitted)
        else:
            _in_doubt(bridge, tx, submitted)
    if submitted.move is not Move.ASK_A_PERSON and delivery is not None:
        try:
            withdraw(bridge.lane_places(submitted.device_id), delivery.temporary_name)
        except ShareHangs as error:
            bridge.lane_is_gone(submitted.device_id, error)


def _refused(bridge: Bridge, tx: Transaction, submitted: SubmissionSettled) -> None:
    if not tx.take_back(submitted.queue_entry_id, (DeliveryState.SUBMITTING,)):
        return
    job = tx.standing(submitted.queue_entry_id)
    facts = {"device_id": job.device_id, "queue_entry_id": job.queue_entry_id, "reason": submitted.reason}
    tx.change_job(job, state=State.HELD, status_details="JobHeld")
    held = replace(job, state=State.HELD, status_details="JobHeld", given=False)
    tx.tell(Event(Step.HELD, bridge.now(), job.queue_entry_id, job.device_id, facts))
    _tell(bridge, tx, held, Finding("press.refused", facts=facts))
    report(bridge, tx, job.source, [queue_status(job.device_id, [held], queue_size(tx, job.device_id))])


def _in_doubt(bridge: Bridge, tx: Transaction, submitted: SubmissionSettled) -> None:
    before = (DeliveryState.INTENDED, DeliveryState.SUBMITTING)
    if not tx.move_delivery(submitted.queue_entry_id, before, DeliveryState.IN_DOUBT):
        return
    job = tx.standing(submitted.queue_entry_id)
    facts = {"device_id": job.device_id, "queue_entry_id": job.queue_entry_id, "reason": submitted.reason}
    tx.tell(Event("press.in-doubt", bridge.now(), job.queue_entry_id, job.device_id, facts))
    _tell(bridge, tx, job, Finding("press.in-doubt", facts=facts))


def _tell(bridge: Bridge, tx: Transaction, job: Standing, finding: Finding) -> None:
    bridge.notice(finding.code, **finding.facts)
    text = f"{sentence(finding)} {remedy(finding)}"
    event_id = {"press.refused": "PressRefused"}.get(finding.code, "PressInDoubt")
    report(bridge, tx, job.source, [trouble(job, "Error", event_id, text, bridge.now())])


def say_whether_delivered(bridge: Bridge, tx: Transaction, job: Standing, request: Request) -> Finding:
    """A person's word on a delivery in doubt: the press has it, or it is to be sent again."""
    doubt, name = (DeliveryState.IN_DOUBT,), job.queue_entry_id
    if request.wish is Wish.DELIVERED:
        moved = tx.move_delivery(name, doubt, DeliveryState.DELIVERED)
    else:
        moved = job.state in NOT_BEGUN and tx.take_back(name, doubt)
    if not moved:
        return Finding("request.not-in-doubt", facts={"queue_entry_id": name})
    tx.tell(Event(request.wish, bridge.now(), name, request.who))
    return Finding("request.done", facts={"queue_entry_id": name, "state": job.state.value})


def rescue_submissions(bridge: Bridge, device_id: str) -> None:
    """After a crash: tickets under temporary names whose delivery is over, or was never intended, are taken away.

    What is still open stays for the talk with the press, which goes on from the store.

    Raises:
        OSError: The lane's folder cannot be used.
        PlaceNotReady: It is not there.
    """
    lane = bridge.lane_places(device_id)
    lying = leftovers(lane)
    with bridge.store.transaction() as tx:
        deliveries = [(name, tx.delivery(queue_entry_of(name))) for name in lying]
    for name, delivery in deliveries:
        if delivery is None or delivery.delivered or delivery.temporary_name != name:
            withdraw(lane, name)
