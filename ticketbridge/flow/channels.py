"""Channels that partners open by message: kept in the store, fed with what the bridge signals anyway."""

import re
from dataclasses import replace
from typing import Final

from ticketbridge.answer.messages import Message
from ticketbridge.flow.bridge import Bridge
from ticketbridge.jdf.writing import Element
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.jmf_partner import JmfSender
from ticketbridge.model.subscription import SIGNALS, Subscription
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.urls import url_begins_with

OBSERVED: Final = re.compile(r"/?(\w+/)*@?\w+")
"""Observation paths that are followed: elements by name, and at last perhaps an attribute."""
_PARAMS: Final = {
    "QueueStatus": "QueueFilter",
    "Status": "StatusQuParams",
    "Resource": "ResourceQuParams",
    "Notification": "NotificationFilter",
}


def open_channel(
    bridge: Bridge, sender: JmfSender, message: Message, sender_id: str, device_id: str | None
) -> list[Finding]:
    """Open what a query asks for, or say why not. The same type to the same address again takes its place."""
    subscription = _read(sender, message, sender_id, device_id)
    reason = _against(sender, subscription)
    if reason is not None:
        return [Finding("channel.refused", facts={"reason": reason})]
    now = bridge.now()
    with bridge.store.transaction() as tx:
        for old in bridge.subscriptions:
            if old.channel == subscription.channel or _hears_the_same(old, subscription):
                _close(tx, old)
        tx.open_channel(subscription, now)
        facts = {"kind": subscription.kind, "url": subscription.url, "channel": subscription.channel}
        tx.tell(Event("channel opened", now, None, sender_id[:63], facts))
        opened = tx.subscriptions()
    bridge.subscriptions = opened
    bridge.paces.pop(subscription.channel, None)
    facts = {"kind": subscription.kind, "url": subscription.url}
    return [Finding("channel.opened", facts=facts)]


def stop_channels(bridge: Bridge, sender: JmfSender, message: Message) -> list[Finding]:
    """End the channels of this partner that a StopPersistentChannel names."""
    params = message.element.find(jdf("StopPersChParams"))
    if params is None:
        return [Finding("message.lacks", facts={"kind": message.kind, "what": "StopPersChParams"})]
    ending = [one for one in bridge.subscriptions if one.partner == sender.id and _is_meant(one, params)]
    if not ending:
        return [Finding("channel.unknown")]
    with bridge.store.transaction() as tx:
        for one in ending:
            _close(tx, one)
            tx.tell(Event("channel closed", bridge.now(), None, one.sender_id[:63], {"channel": one.channel}))
        left = tx.subscriptions()
    bridge.subscriptions = left
    return [Finding("channel.closed", facts={"count": len(ending)})]


def _hears_the_same(one: Subscription, other: Subscription) -> bool:
    """Whether two channels are the same but for their names. One for each job may lead to one address."""
    return one == replace(
        other,
        channel_id=one.channel_id,
        sender_id=one.sender_id,
        repeat_time_s=one.repeat_time_s,
        repeat_step=one.repeat_step,
        observed=one.observed,
        reliable=one.reliable,
        retry_for_ever=one.retry_for_ever,
        changes_only=one.changes_only,
        classes=one.classes,
    )


def _close(tx: Transaction, one: Subscription) -> None:
    """Forget a channel, and with it what it has not heard yet."""
    tx.close_channel(one.channel)
    tx.mark_sent(one.channel, tx.channels().get(one.channel, (0, 0))[0])


def _is_meant(one: Subscription, params: Element) -> bool:
    said = {
        "URL": one.url,
        "ChannelID": one.channel_id,
        "MessageType": one.kind,
        "DeviceID": one.device_id,
        "JobID": one.job_id,
        "JobPartID": one.job_part_id,
        "QueueEntryID": one.queue_entry_id,
    }
    return all(params.get(name) in (None, value) for name, value in said.items())


def _read(sender: JmfSender, message: Message, sender_id: str, device_id: str | None) -> Subscription:
    said = message.element.find(jdf("Subscription"))
    assert said is not None  # noqa: S101  the caller has looked
    params = message.element.find(jdf(_PARAMS.get(message.kind, "QueueFilter")))
    wanted = {} if params is None else dict(params.attrib)
    target = said.find(jdf("ObservationTarget"))
    path = None if target is None else target.get("ObservationPath")
    repeat, step = said.get("RepeatTime"), said.get("RepeatStep")
    return Subscription(
        channel_id=message.message_id,
        sender_id=sender_id,
        partner=sender.id,
        source=sender.source or "",
        kind=message.kind,
        url=said.get("URL", ""),
        device_id=device_id,
        job_id=wanted.get("JobID"),
        job_part_id=wanted.get("JobPartID"),
        queue_entry_id=wanted.get("QueueEntryID"),
        resources=tuple(wanted.get("ResourceName", "").split()),
        scope=wanted.get("Scope"),
        classes=tuple(wanted.get("Classes", "").split()),
        repeat_time_s=None if repeat is None else float(repeat),
        repeat_step=None if step is None else int(step),
        observed=None if path in (None, "*") else path,
        reliable=said.get("ChannelMode", "Reliable") == "Reliable",
        retry_for_ever=said.get("RetryPolicy", "RetryForever") == "RetryForever",
        changes_only=wanted.get("UpdateGranularity") == "ChangesOnly",
    )


def _against(sender: JmfSender, one: Subscription) -> str | None:
    """Why a channel is not opened; None where it is."""
    if one.kind not in SIGNALS:
        return f"{one.kind} is not signalled; {', '.join(SIGNALS)} are"
    if not one.url:
        return "it has no URL"
    if not url_begins_with(one.url, sender.signal_urls):
        return "signals are not posted to that address"
    if one.observed is not None and not OBSERVED.fullmatch(one.observed):
        return "its ObservationPath is more than names of elements and at last an attribute"
    return None
