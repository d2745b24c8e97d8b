"""What an open channel hears: of the signals that the bridge makes anyway those that it asked for, or the state."""

import copy
from collections.abc import Iterator, Sequence
from typing import Final

from ticketbridge.answer.messages import Message
from ticketbridge.answer.queries import answer
from ticketbridge.answer.world import World
from ticketbridge.jdf.message_parts import set_known
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.subscription import Subscription
from ticketbridge.vocabulary.names import XSI_TYPE, jdf

_PARAMS: Final = {"QueueStatus": "QueueFilter", "Status": "StatusQuParams", "Resource": "ResourceQuParams"}


def heard(subscription: Subscription, messages: Sequence[Element]) -> list[Element]:
    """Copies of the messages that this channel is for, made out to it."""
    return [
        _made_out(subscription, one)
        for one in messages
        if one.tag == jdf("Signal") and one.get("Type") == subscription.kind and _concerns(subscription, one)
    ]


def state_question(subscription: Subscription) -> Message:
    """The query whose answer is what a channel hears of how things stand."""
    query = child(None, "Query", ID=subscription.channel_id, Type=subscription.kind)
    params = child(query, _PARAMS.get(subscription.kind, "NotificationFilter"))
    set_known(params, JobID=subscription.job_id, JobPartID=subscription.job_part_id)
    if subscription.queue_entry_id is not None and subscription.kind == "QueueStatus":
        child(params, "QueueEntryDef", QueueEntryID=subscription.queue_entry_id)
    else:
        set_known(params, QueueEntryID=subscription.queue_entry_id)
    if subscription.kind == "Resource":
        names = " ".join(subscription.resources) or None
        set_known(params, ResourceName=names, Scope=subscription.scope)
    return Message("Query", subscription.kind, subscription.channel_id, query)


def state_signal(subscription: Subscription, world: World) -> Element | None:
    """How things stand, as a signal: the first of a channel, and those that are repeated.

    None where there is nothing to say: a notification tells of an event, and a lane without a job of that name
    of nothing.
    """
    if subscription.kind == "Notification":
        return None
    content, _ = answer(state_question(subscription), world)
    if not content:
        return None
    signal = child(None, "Signal", xsi_type=f"Signal{subscription.kind}", Type=subscription.kind)
    for element in content:
        signal.append(element)
    return _made_out(subscription, signal)


def observed_value(path: str, signals: Sequence[Element]) -> tuple[str, ...]:
    """What an ObservationPath leads to in signals, as text; elements count with all that is in them."""
    steps = path.strip("/").split("/")
    attribute = steps.pop().removeprefix("@") if "@" in steps[-1] else None
    found = [element for signal in signals for element in _led_to(signal, steps)]
    if attribute is not None:
        return tuple(element.get(attribute, "") for element in found)
    return tuple(" ".join(f"{name}={value}" for name, value in sorted(one.attrib.items())) for one in found)


def _led_to(element: Element, steps: Sequence[str]) -> Iterator[Element]:
    if not steps:
        yield element
        return
    for inner in element.iterchildren(jdf(steps[0])):
        yield from _led_to(inner, steps[1:])


def _made_out(subscription: Subscription, signal: Element) -> Element:
    made = copy.deepcopy(signal)
    made.set("refID", subscription.channel_id)
    made.set("ChannelMode", "Reliable" if subscription.reliable else "FireAndForget")
    if subscription.kind == "Notification":
        made.attrib.pop(XSI_TYPE, None)
        made.set(XSI_TYPE, "SignalNotification")
    return made


def _concerns(subscription: Subscription, signal: Element) -> bool:
    """Whether a signal is about what the channel asked for. What a signal does not say narrows nothing."""
    said: dict[str, set[str]] = {}
    for element in signal.iter():
        for name in ("DeviceID", "JobID", "JobPartID", "QueueEntryID", "ResourceName", "Class"):
            if (value := element.get(name)) is not None and not (
                name == "Class" and element.tag != jdf("Notification")
            ):
                said.setdefault(name, set()).add(value)
    wanted = {
        "DeviceID": subscription.device_id,
        "JobID": subscription.job_id,
        "JobPartID": subscription.job_part_id,
        "QueueEntryID": subscription.queue_entry_id,
    }
    if any(value is not None and name in said and value not in said[name] for name, value in wanted.items()):
        return False
    kinds = said.get("ResourceName", set())
    if subscription.resources and kinds and not kinds & set(subscription.resources):
        return False
    named = [value for name, value in wanted.items() if value is not None and name != "DeviceID"]
    if named and not said.keys() & {"JobID", "JobPartID", "QueueEntryID"}:
        return subscription.kind != "Notification"  # a fault of the lane is not about this job
    return (
        not subscription.classes or not said.get("Class") or bool(said["Class"] & set(subscription.classes))
    )
