"""Messages into the outbox, in the same transaction as the change they tell of."""

import copy
from collections.abc import Sequence
from datetime import datetime, timedelta

from ticketbridge.answer.signals import heard, observed_value, state_signal
from ticketbridge.flow.asking import world_of
from ticketbridge.flow.bridge import Bridge, Pace
from ticketbridge.jdf.writing import Element
from ticketbridge.model.queue_state import OPEN
from ticketbridge.model.shop import Source
from ticketbridge.model.subscription import Subscription
from ticketbridge.report.compose import message
from ticketbridge.store.records import Message, QueueSize
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.names import jdf

FOLDER = "folder"
HTTP = "http"


def channels_of(source: Source) -> list[str]:
    """The subscribers of a source: its status folder always, its address where it has one."""
    return [f"{source.id}.{FOLDER}"] + ([f"{source.id}.{HTTP}"] if source.status_url else [])


def report(bridge: Bridge, tx: Transaction, source_id: str, messages: Sequence[Element]) -> None:
    """Queue one JMF document with these messages for every subscriber of the source.

    The source's own channels hear everything, those opened by message what they asked for.
    """
    if not messages:
        return
    source = bridge.sources[source_id]
    if bridge.queues:
        _say_queue_states(bridge, messages)
    for channel in channels_of(source):
        queue_document(bridge, tx, source, channel, [copy.deepcopy(one) for one in messages])
    for subscription in bridge.subscriptions:
        if subscription.source == source_id:
            signals = heard(subscription, messages)
            if signals:
                feed(bridge, tx, subscription, signals)


def queue_document(
    bridge: Bridge, tx: Transaction, source: Source, channel: str, messages: Sequence[Element]
) -> None:
    """Put one JMF document with these messages into the outbox of a channel."""
    now, seq = bridge.now(), tx.next_seq(channel)
    body = message(
        messages,
        sender_id=source.sender_id or bridge.shop.settings.sender_id,
        version=source.jdf_version,
        at=now,
        id_prefix=f"S{seq:08d}",
        agent_version=bridge.agent_version,
    )
    tx.queue_message(Message(channel, seq, body, f"{seq:08d}.jmf", now))


def feed(bridge: Bridge, tx: Transaction, subscription: Subscription, signals: Sequence[Element]) -> None:
    """Signals into a channel that was opened by message, unless it asked to hear less often."""
    pace = bridge.paces.setdefault(subscription.channel, Pace())
    if subscription.observed is not None:
        value = observed_value(subscription.observed, signals)
        if value == pace.observed:
            return
        pace.observed = value
    pace.steps += 1
    if subscription.repeat_step is not None and pace.steps % subscription.repeat_step:
        return
    pace.sent_at = bridge.now()
    if subscription.kind == "QueueStatus" and not subscription.changes_only:
        signals = [_whole_queue(bridge, tx, subscription)]
    queue_document(bridge, tx, bridge.sources[subscription.source], subscription.channel, signals)


def _whole_queue(bridge: Bridge, tx: Transaction, subscription: Subscription) -> Element:
    """The queue as it stands after the change, for those that do not ask for changes alone."""
    signal = state_signal(subscription, world_of(bridge, tx, subscription))
    assert signal is not None  # noqa: S101  there is always a queue
    return signal


def send_states(bridge: Bridge) -> bool:
    """To the channels whose time it is, how things stand. True where something was sent."""
    now = bridge.now()
    due = [one for one in bridge.subscriptions if _is_due(bridge, one, now)]
    for subscription in due:
        bridge.paces.setdefault(subscription.channel, Pace()).sent_at = now
        with bridge.store.transaction() as tx:
            signal = state_signal(subscription, world_of(bridge, tx, subscription))
            if signal is not None:
                source = bridge.sources[subscription.source]
                queue_document(bridge, tx, source, subscription.channel, [signal])
    return bool(due)


def _is_due(bridge: Bridge, subscription: Subscription, now: datetime) -> bool:
    """A channel hears the state once when it is open, and then as often as it asked for."""
    pace = bridge.paces.get(subscription.channel)
    if pace is None or pace.sent_at is None:
        return True
    every_s = subscription.repeat_time_s
    jmf = bridge.shop.settings.jmf
    if every_s is None or jmf is None:
        return False
    return now - pace.sent_at >= timedelta(seconds=max(every_s, jmf.shortest_repeat_s))


def _say_queue_states(bridge: Bridge, messages: Sequence[Element]) -> None:
    """What was said of a queue goes before what is so by itself."""
    for queue in (queue for one in messages for queue in one.iterchildren(jdf("Queue"))):
        state = bridge.queues.get(queue.get("DeviceID", ""), OPEN)
        if state != OPEN:
            queue.set("Status", state.status(running=False, full=False))


def queue_size(tx: Transaction, device_id: str) -> QueueSize:
    """The size of one lane's queue, for a QueueStatus signal."""
    return tx.queue_sizes().get(device_id, QueueSize())
