"""What the press answers to JMF. Every method runs in the thread that prints."""

from collections.abc import Callable, Mapping
from typing import Final

from lxml import etree

from ticketbridge.press_sim import safe_xml
from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.elements import add, as_bytes, new_message
from ticketbridge.press_sim.http.channels import Channel, Channels
from ticketbridge.press_sim.http.entries import Entry
from ticketbridge.press_sim.settings import LaneSettings, PressSettings
from ticketbridge.press_sim.simulator import Simulator
from ticketbridge.vocabulary.names import XSI_TYPE, jdf

Element = etree._Element  # noqa: SLF001  lxml gives its element type no public name

TYPED: Final = (
    "Status", "Resource", "QueueStatus", "SubmitQueueEntry", "HoldQueueEntry", "ResumeQueueEntry",
    "RemoveQueueEntry", "StopPersistentChannel",
)  # fmt: skip
"""Messages whose Response has a type of its own in the standard's schema."""


class Counter:
    """Answers each message of a document."""

    def __init__(self, press: PressSettings, simulator: Simulator, channels: Channels, clock: Clock) -> None:
        self._press = press
        self._simulator = simulator
        self._channels = channels
        self._clock = clock
        self._lanes = {lane.device_id: lane for lane in press.lanes}
        self._deeds: dict[str, Callable[[Element, Element, LaneSettings, Mapping[str, bytes]], int]] = {
            "SubmitQueueEntry": self._submit,
            "QueueStatus": self._queue_status,
            "Status": self._status,
            "Resource": lambda *_: 0,
            "Notification": lambda *_: 0,
            "HoldQueueEntry": self._change("hold"),
            "ResumeQueueEntry": self._change("resume"),
            "RemoveQueueEntry": self._change("remove"),
            "StopPersistentChannel": self._stop_channel,
        }

    def answer(self, root: Element, parts: Mapping[str, bytes], code: int | None = None) -> bytes:
        """The answer to a document.

        Args:
            root: The JMF.
            parts: What came with it, by Content-ID.
            code: Do nothing, and answer this ReturnCode.
        """
        named = root.get("DeviceID")
        lane = self._lanes.get(named) if named else self._press.lanes[0]
        major, minor = self._press.jdf_version
        answer = new_message(
            {
                "SenderID": self._press.sender_id,
                "TimeStamp": self._clock.timestamp(),
                "Version": f"{major}.{minor}",
            }
        )
        for place, message in enumerate(root.iterchildren(jdf("Query"), jdf("Command"))):
            kind = message.get("Type", "")
            response = self._add(answer, "Response", ID=f"R{place}", refID=message.get("ID", ""), Type=kind)
            if kind in TYPED:
                response.set(XSI_TYPE, f"Response{kind}")
            done = code
            if done is None:
                done = 121 if lane is None else self._do(message, response, lane, parts)
            response.set("ReturnCode", str(done))
        return as_bytes(answer)

    def _do(self, message: Element, response: Element, lane: LaneSettings, parts: Mapping[str, bytes]) -> int:
        kind, wanted = message.get("Type", ""), message.find(jdf("Subscription"))
        if wanted is not None:
            self._channels.open(
                Channel(
                    message.get("ID", ""),
                    kind,
                    wanted.get("URL", ""),
                    lane.device_id,
                    wanted.get("ChannelMode", "FireAndForget"),
                )
            )
            return 0
        deed = self._deeds.get(kind)
        return 5 if deed is None else deed(message, response, lane, parts)

    def _submit(
        self, message: Element, response: Element, lane: LaneSettings, parts: Mapping[str, bytes]
    ) -> int:
        params = message.find(jdf("QueueSubmissionParams"))
        url = "" if params is None else params.get("URL", "")
        ticket = parts.get(url.removeprefix("cid:")) if url.startswith("cid:") else None
        if params is None or ticket is None:
            return 120
        try:
            root = safe_xml.parse(ticket)
        except safe_xml.NotReadable:
            return 3
        job = (root.get("JobID", ""), root.get("JobPartID", ""))
        if self._press.refuses_doubles and job in [
            (one.job_id, one.job_part_id) for one in self._simulator.entries
        ]:
            return 116
        entry = self._simulator.submit(lane, ticket, job, params.get("ReturnJMF"))
        self._add_entry(response, entry)
        return 0

    def _queue_status(
        self, message: Element, response: Element, lane: LaneSettings, _parts: Mapping[str, bytes]
    ) -> int:
        wanted = message.find(jdf("QueueFilter"))
        names = {} if wanted is None else {name: wanted.get(name) for name in ("JobID", "JobPartID")}
        status = "Running" if self._simulator.running(lane) else "Waiting"
        queue = self._add(response, "Queue", DeviceID=lane.device_id, Status=status)
        for entry in self._simulator.entries:
            if (
                entry.device_id == lane.device_id
                and names.get("JobID") in (None, entry.job_id)
                and names.get("JobPartID") in (None, entry.job_part_id)
            ):
                self._add_entry(queue, entry)
        return 0

    def _status(
        self, _message: Element, response: Element, lane: LaneSettings, _parts: Mapping[str, bytes]
    ) -> int:
        job = self._simulator.running(lane)
        if job is None:
            self._add(response, "DeviceInfo", DeviceID=lane.device_id, DeviceStatus="Idle")
            return 0
        last = safe_xml.parse(job.report_now()).find(f".//{jdf('DeviceInfo')}")
        if last is not None:
            response.append(last)
        return 0

    def _change(self, deed: str) -> Callable[[Element, Element, LaneSettings, Mapping[str, bytes]], int]:
        def change(
            message: Element, _response: Element, lane: LaneSettings, _parts: Mapping[str, bytes]
        ) -> int:
            names = [one.get("QueueEntryID") for one in message.iter(jdf("QueueEntryDef"))]
            wanted = message.find(f".//{jdf('QueueFilter')}")
            part = None if wanted is None else wanted.get("JobPartID")
            entries = [
                one
                for one in self._simulator.entries
                if one.device_id == lane.device_id
                and (one.serial in names or (part is not None and one.job_part_id == part))
            ]
            return self._simulator.change(deed, entries[-1]) if entries else 105

        return change

    def _stop_channel(
        self, message: Element, _response: Element, _lane: LaneSettings, _parts: Mapping[str, bytes]
    ) -> int:
        params = message.find(jdf("StopPersChParams"))
        if params is None:
            return 7
        self._channels.close(params.get("ChannelID", ""), params.get("URL", ""))
        return 0

    def _add_entry(self, parent: Element, entry: Entry) -> None:
        self._add(
            parent,
            "QueueEntry",
            QueueEntryID=entry.serial,
            JobID=entry.job_id,
            JobPartID=entry.job_part_id,
            Status=self._simulator.status(entry),
            SubmissionTime=entry.submitted_at,
        )

    def _add(self, parent: Element, name: str, **attributes: str) -> Element:
        return add(parent, name, self._press.jdf_version, attributes)
