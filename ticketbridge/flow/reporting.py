"""Messages into the outbox, in the same transaction as the change they tell of."""

import copy
from collections.abc import Sequence

from ticketbridge.flow.bridge import Bridge
from ticketbridge.jdf.writing import Element
from ticketbridge.model.queue_state import OPEN
from ticketbridge.model.shop import Source
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
    """Queue one JMF document with these messages for every subscriber of the source."""
    if not messages:
        return
    source = bridge.sources[source_id]
    now = bridge.now()
    if bridge.queues:
        _say_queue_states(bridge, messages)
    for channel in channels_of(source):
        seq = tx.next_seq(channel)
        body = message(
            [copy.deepcopy(one) for one in messages],
            sender_id=source.sender_id or bridge.shop.settings.sender_id,
            version=source.jdf_version,
            at=now,
            id_prefix=f"S{seq:08d}",
            agent_version=bridge.agent_version,
        )
        tx.queue_message(Message(channel, seq, body, f"{seq:08d}.jmf", now))


def _say_queue_states(bridge: Bridge, messages: Sequence[Element]) -> None:
    """What was said of a queue goes before what is so by itself."""
    for queue in (queue for one in messages for queue in one.iterchildren(jdf("Queue"))):
        state = bridge.queues.get(queue.get("DeviceID", ""), OPEN)
        if state != OPEN:
            queue.set("Status", state.status(running=False, full=False))


def queue_size(tx: Transaction, device_id: str) -> QueueSize:
    """The size of one lane's queue, for a QueueStatus signal."""
    return tx.queue_sizes().get(device_id, QueueSize())
