"""Every query with its answer. Pure: the world in, elements out."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from ticketbridge.answer.flushing import flush_info, to_flush
from ticketbridge.answer.messages import COMMANDS, QUERIES, Message
from ticketbridge.answer.queue_filter import QueueFilter, read_filter
from ticketbridge.answer.resources import OF_JOBS, asked_scopes, resources
from ticketbridge.answer.world import LaneNow, World
from ticketbridge.jdf.message_parts import DEVICE_STATUS, Phase, job_phase, queue_entry, set_known
from ticketbridge.jdf.writing import Element, child, clean
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Standing
from ticketbridge.model.subscription import SIGNALS
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.units import number

Answer = tuple[list[Element], list[Finding]]
"""What was asked for, and what is to be said besides."""


def answer(message: Message, world: World) -> Answer:
    """The answer to a query that the bridge knows."""
    return _ANSWERS[message.kind](message, world)


def filter_of(message: Message) -> QueueFilter:
    """Which entries a message is about, by its QueueFilter or by its parameters; a question about none asks for none."""
    if message.kind in ("QueueStatus", "FlushQueue"):
        params = message.element.find(jdf("FlushQueueParams"))
        return read_filter([message.element] if params is None else [message.element, params])
    params = message.element.find(jdf(f"{message.kind}QuParams"))
    named = QueueFilter(details="None") if params is None else _named_by(params)
    takings = message.kind == "Resource" and bool(asked_scopes(params) & frozenset(OF_JOBS))
    return replace(named, takings=takings)


def _named_by(params: Element) -> QueueFilter:
    name, job_id = params.get("QueueEntryID"), params.get("JobID")
    details = "Brief" if name or job_id or params.get("QueueInfo") == "true" else "None"
    return QueueFilter((name,) if name else (), job_id, params.get("JobPartID"), details=details)


def _known_messages(message: Message, _world: World) -> Answer:
    said = message.element.find(jdf("KnownMsgQuParams"))
    wanted = {} if said is None else dict(said.attrib)
    services = []
    for kind in dict.fromkeys((*QUERIES, *COMMANDS)):
        does = {
            "Query": kind in QUERIES and wanted.get("ListQueries") != "false",
            "Command": kind in COMMANDS and wanted.get("ListCommands") != "false",
            "Signal": kind in SIGNALS and wanted.get("ListSignals") != "false",
            "Persistent": kind in SIGNALS and kind in QUERIES,
        }
        if wanted.get("Persistent") == "true" and not does["Persistent"]:
            continue
        if does["Query"] or does["Command"] or does["Signal"]:
            service = child(None, "MessageService", Type=kind, JMFRole="Receiver", URLSchemes="http")
            for name, value in does.items():
                if value:
                    service.set(name, "true")
            services.append(service)
    return services, []


def _known_devices(message: Message, world: World) -> Answer:
    said = message.element.find(jdf("DeviceFilter"))
    details = "None" if said is None else said.get("DeviceDetails", "None")
    asked = () if said is None else tuple(one.get("DeviceID") for one in said.iterchildren(jdf("Device")))
    devices = child(None, "DeviceList")
    for lane in world.lanes:
        if not asked or lane.device_id in asked:
            _device_info(devices, lane, with_device=details not in ("None", "Brief"))
    return [devices], []


def _known_subscriptions(message: Message, world: World) -> Answer:
    said = message.element.find(jdf("SubscriptionFilter"))
    wanted = {} if said is None else dict(said.attrib)
    kinds = wanted.get("MessageTypes", "").split()
    found = []
    for one in world.subscriptions:
        if kinds and one.kind not in kinds:
            continue
        if wanted.get("ChannelID", one.channel_id) != one.channel_id or wanted.get("URL", one.url) != one.url:
            continue
        info = child(
            None,
            "SubscriptionInfo",
            ChannelID=one.channel_id,
            SenderID=one.sender_id,
            Family="Signal",
            MessageType=one.kind,
        )
        set_known(info, JobID=one.job_id, JobPartID=one.job_part_id, QueueEntryID=one.queue_entry_id)
        mode = "Reliable" if one.reliable else "FireAndForget"
        subscription = child(info, "Subscription", URL=one.url, ChannelMode=mode)
        if one.repeat_time_s is not None:
            subscription.set("RepeatTime", number(one.repeat_time_s))
        if one.repeat_step is not None:
            subscription.set("RepeatStep", str(one.repeat_step))
        found.append(info)
    return found, []


def _submission_methods(_message: Message, world: World) -> Answer:
    schemes = " ".join(world.ticket_schemes)
    return [child(None, "SubmissionMethods", Packaging="MIME None", URLSchemes=schemes)], []


def _queue_status(message: Message, world: World) -> Answer:
    entries = filter_of(message)
    seen = [job for lane in world.lanes for job in lane.jobs]
    found = entries.chosen(seen)
    unknown = sorted(set(entries.queue_entry_ids) - {job.queue_entry_id for job in seen})
    findings = [Finding("request.unknown-job", facts={"queue_entry_id": name}) for name in unknown]
    if entries.job_id and not found and not findings:
        findings = [Finding("message.nothing-found", facts={"kind": message.kind})]
    return [queue(world, found, entries.details)], findings


def queue(world: World, entries: list[Standing], details: str = "Brief") -> Element:
    """The queue that is meant: a lane's own, or the bridge's with the entries of all its lanes."""
    size = sum(lane.size for lane in world.lanes)
    states = [
        lane.queue.status(running=lane.running is not None, full=lane.size >= world.most_entries)
        for lane in world.lanes
    ]
    status = next((word for word in ("Running", "Waiting", "Full") if word in states), states[0])
    made = child(
        None,
        "Queue",
        DeviceID=world.addressed or world.bridge_id,
        Status=status,
        QueueSize=str(size),
        MaxQueueSize=str(world.most_entries * len(world.lanes)),
    )
    if details != "None":
        for job in entries:
            entry = queue_entry(made, job, with_lane=world.addressed is None)
            if details in ("JobPhase", "JDF"):
                job_phase(entry, job, Phase(job.phase, job.status_details))
    return made


def _status(message: Message, world: World) -> Answer:
    said = message.element.find(jdf("StatusQuParams"))
    wanted = {} if said is None else dict(said.attrib)
    with_device = wanted.get("DeviceDetails", "None") not in ("None", "Brief")
    infos = [_device_info(None, lane, with_device=with_device) for lane in world.lanes]
    found = False
    if wanted.get("JobDetails", "Brief") != "None":
        for info, lane in zip(infos, world.lanes, strict=True):
            for job in _asked_jobs(lane, wanted):
                job_phase(info, job, Phase(job.phase, job.status_details))
                found = True
    asked = any(name in wanted for name in ("JobID", "QueueEntryID"))
    findings = [Finding("message.nothing-found", facts={"kind": "Status"})] if asked and not found else []
    if wanted.get("QueueInfo") == "true":
        infos.append(queue(world, [job for lane in world.lanes for job in lane.jobs]))
    return infos, findings


def _asked_jobs(lane: LaneNow, wanted: Mapping[str, str]) -> Iterator[Standing]:
    """What a Status query asks for by name; else what runs."""
    named = {name: wanted[name] for name in ("JobID", "JobPartID", "QueueEntryID") if name in wanted}
    if not named:
        if lane.visible_run is not None:
            yield lane.visible_run
        return
    for job in lane.jobs:
        mine = {"JobID": job.job_id, "JobPartID": job.job_part_id, "QueueEntryID": job.queue_entry_id}
        if all(mine[name] == value for name, value in named.items()):
            yield job


def _device_info(parent: Element | None, lane: LaneNow, *, with_device: bool) -> Element:
    """A lane as a device: its status, and on request what it is."""
    runs = lane.running
    status = "Idle" if runs is None else DEVICE_STATUS.get(runs.phase, "Unknown")
    info = child(parent, "DeviceInfo", DeviceID=lane.device_id, DeviceStatus=status)
    if runs is not None and runs.phase in ("Setup", "InProgress", "Stopped"):
        set_known(info, StatusDetails=runs.status_details)
    if with_device:
        name = clean(f"{lane.press}, {lane.name}")[:255]
        child(info, "Device", DeviceID=lane.device_id, DescriptiveName=name)
    return info


def _resource(message: Message, world: World) -> Answer:
    infos = resources(message, world)
    return infos, [] if infos else [Finding("message.nothing-found", facts={"kind": "Resource"})]


def _flush_queue(message: Message, world: World) -> Answer:
    """What a FlushQueue with this filter would remove; nothing is removed."""
    going = to_flush((job for lane in world.lanes for job in lane.jobs), filter_of(message))
    return [flush_info(going)], []


def _notification(_message: Message, _world: World) -> Answer:
    """Notifications are events: without a subscription there is nothing to say."""
    return [], []


_ANSWERS: Final[Mapping[str, Callable[[Message, World], Answer]]] = {
    "KnownMessages": _known_messages,
    "KnownDevices": _known_devices,
    "KnownSubscriptions": _known_subscriptions,
    "SubmissionMethods": _submission_methods,
    "QueueStatus": _queue_status,
    "Status": _status,
    "Resource": _resource,
    "FlushQueue": _flush_queue,
    "Notification": _notification,
}
