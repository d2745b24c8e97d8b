"""What the MIS or a person asks of a job that a press has: passed on as a command, answered by what the press says.

A command lies in the outbox of the press's own channel, so that a press that is off hears of it when it is on
again. What it answers goes to whoever asked, as an Acknowledge, and moves the job as far as it says yes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.giving_back import post_acknowledge
from ticketbridge.flow.press.steps import step_job
from ticketbridge.flow.reporting import report
from ticketbridge.hand_over.press_messages import Entry, Letterhead, about_an_entry
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Standing, press_part_id
from ticketbridge.model.job_states import State, Step
from ticketbridge.model.request import Wish
from ticketbridge.report.acknowledge import acknowledge
from ticketbridge.report.compose import trouble
from ticketbridge.store.records import DeliveryState, Message
from ticketbridge.store.transaction import Transaction

KINDS: Final[Mapping[Wish, str]] = {
    Wish.HOLD: "HoldQueueEntry",
    Wish.RESUME: "ResumeQueueEntry",
    Wish.CANCEL: "RemoveQueueEntry",
    Wish.ABORT: "AbortQueueEntry",
}
"""What people ask, as the standard's ``Command@Type``."""

STEPS: Final[Mapping[str, tuple[Step, ...]]] = {
    "HoldQueueEntry": (Step.HELD,),
    "ResumeQueueEntry": (Step.RESUMED, Step.WENT_ON),
    "SuspendQueueEntry": (Step.SUSPENDED,),
    "RemoveQueueEntry": (Step.CANCELLED,),
}
"""What a press's yes means for the job; the first that fits its state. An aborted one comes back by itself."""

DONE: Final = frozenset({0, 12, 113})
"""113: it is so already."""

ASKED: Final = "asked the press"


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asked, and how the answer finds its way.

    Attributes:
        who: For the history.
        message_id: ``Command@ID`` of the MIS, which the Acknowledge repeats; None where a person asked.
        acknowledge_url: Where the Acknowledge goes; None sends it the way of the source's signals.
    """

    who: str
    message_id: str | None = None
    acknowledge_url: str | None = None


def press_channel(device_id: str) -> str:
    """The name of a lane's channel in the outbox."""
    return f"press.{device_id}"


def letterhead(bridge: Bridge, device_id: str) -> Letterhead:
    """How the bridge writes to a lane."""
    press, _ = bridge.lanes[device_id]
    return Letterhead(bridge.shop.settings.sender_id, device_id, press.jdf_version, bridge.agent_version)


def ask_the_press(
    bridge: Bridge, tx: Transaction, job: Standing, kind: str, asker: Asker, request_id: str
) -> Finding | None:
    """Pass a command about a job on to the press that has it, as a part of this transaction.

    Args:
        bridge: The bridge.
        tx: The transaction.
        job: The job, at its lane.
        kind: ``Command@Type``.
        asker: Who wants it.
        request_id: The same again, after a crash, is not passed on twice.

    Returns:
        What was done, or that this press is reached by folder and only a person can ask it.
        None where the bridge can do it alone, because nothing of the ticket has left yet, or a person does not want
        what is in doubt, and the job is its own again.
    """
    name = job.queue_entry_id
    told = {"queue_entry_id": name, "device_id": job.device_id, "wish": kind.removesuffix("QueueEntry")}
    if bridge.link(job.device_id) is None:
        doubted = kind == "RemoveQueueEntry" and job.state in (State.WAITING, State.HELD)
        if doubted and tx.take_back(name, (DeliveryState.IN_DOUBT,)):
            return None
        return Finding("request.at-press", facts=told)
    if tx.take_back(name, (DeliveryState.INTENDED,)):
        return None
    delivery, now = tx.delivery(name), bridge.now()
    if not tx.is_new_message("request", request_id, now):
        return Finding("request.passed-on", facts=told)
    channel = press_channel(job.device_id)
    seq = tx.next_seq(channel)
    message_id = f"C{seq:08d}"
    entry = Entry(
        job.job_id, press_part_id(job.job_part_id, name), delivery.press_entry_id if delivery else None
    )
    head = letterhead(bridge, job.device_id)
    body = about_an_entry(head, message_id, now, kind, entry)
    tx.queue_message(Message(channel, seq, body, f"{name}.jmf", now))
    facts: dict[str, Any] = {
        "device_id": job.device_id,
        "kind": kind,
        "message_id": message_id,
        "ref_id": asker.message_id,
    }
    if asker.acknowledge_url is not None:
        facts["acknowledge_url"] = asker.acknowledge_url
    tx.tell(Event(ASKED, now, name, asker.who, facts))
    return Finding("request.passed-on", facts=told)


@dataclass(frozen=True, slots=True)
class PressAnswered:
    """What a press answered to a command about a job."""

    device_id: str
    queue_entry_id: str
    message_id: str
    return_code: int
    text: str


def settle_command(bridge: Bridge, answered: PressAnswered) -> None:
    """Tell whoever asked, and move the job where the press said yes. The same answer again changes nothing."""
    name, now = answered.queue_entry_id, bridge.now()
    with bridge.store.transaction() as tx:
        sender = f"answer of {answered.device_id}"
        job = tx.find_standing(name)
        if job is None or not tx.is_new_message(sender, answered.message_id, now):
            return
        asked = [event["facts"] for event in tx.history(name) if event["what"] == ASKED]
        facts = next((one for one in asked if one["message_id"] == answered.message_id), None)
        if facts is None:
            return
        kind = str(facts["kind"])
        told = {"kind": kind, "return_code": answered.return_code, "text": answered.text}
        tx.tell(Event("the press answered", now, name, answered.device_id, told))
        done = answered.return_code in DONE
        if done:
            for step in STEPS.get(kind, ()):
                step_job(bridge, tx, tx.standing(name), step)
        text = f"{answered.device_id} answers {kind} for {name}: "
        text += "done." if done else f"{answered.text or 'no'} (ReturnCode {answered.return_code})."
        event_id = "CommandDone" if done else "CommandRefused"
        messages = [trouble(job, "Information" if done else "Warning", event_id, text, now)]
        if facts["ref_id"]:
            code = 0 if done else answered.return_code
            told_back = acknowledge(str(facts["ref_id"]), kind, code, text, now)
            if not post_acknowledge(bridge, tx, job, facts, told_back):
                messages.append(told_back)
        report(bridge, tx, job.source, messages)
