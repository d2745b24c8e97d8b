"""What the press says by itself: its reports posted to those who subscribed, its tickets given back by message.

The files in the lanes' ``status`` and ``returned`` folders are the press's own outbox: a file is gone when somebody
has it, or nobody wants it. A kill between the two posts it again, with the same bytes and the same ID.
"""

import http.client
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from lxml import etree

from ticketbridge.press_sim import safe_xml
from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.elements import add, as_bytes, new_message
from ticketbridge.press_sim.http.channels import Channels
from ticketbridge.press_sim.http.entries import Entry
from ticketbridge.press_sim.http.mischief import Mischief
from ticketbridge.press_sim.http.parcels import packed
from ticketbridge.press_sim.settings import LaneSettings, PressSettings
from ticketbridge.press_sim.simulator import Simulator
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE, XSI_TYPE, jdf

LOOK_S: Final = 0.05
AGAIN_S: Final = 0.5
PATIENCE_S: Final = 10.0
LIMIT_BYTES: Final = 1_000_000


class Herald(threading.Thread):
    """Posts one thing after the other."""

    def __init__(
        self, press: PressSettings, simulator: Simulator, channels: Channels, mischief: Mischief, clock: Clock
    ) -> None:
        super().__init__(name="herald", daemon=True)
        self._press = press
        self._simulator = simulator
        self._channels = channels
        self._mischief = mischief
        self._clock = clock
        self._stopping = threading.Event()
        self._told: dict[str, str] = {}
        self._count = 0

    def run(self) -> None:
        """Until stopped."""
        while not self._stopping.is_set():
            deaf = [lane for lane in self._press.lanes if not self._speak(lane)]
            self._stopping.wait(AGAIN_S if deaf else LOOK_S)

    def stop(self) -> None:
        """End after the post in hand; what is left is posted by the next start."""
        self._stopping.set()

    def _speak(self, lane: LaneSettings) -> bool:
        """What waits at one lane. False where somebody did not hear it."""
        self._tell_queue(lane)
        reports = sorted(lane.status.glob("*.jmf"))
        while len(reports) > 1 and self._mischief.wanted("swapped"):
            reports[0], reports[1] = reports[1], reports[0]
        for report in reports:
            if not self._report(lane, report):
                return False
        return not [one for one in sorted(lane.returned.glob("*.jdf")) if not self._give_back(one)]

    def _report(self, lane: LaneSettings, path: Path) -> bool:
        root = safe_xml.read(path)
        if not self._signal(root, lane.device_id):
            return False
        if self._mischief.wanted("twice"):
            self._signal(root, lane.device_id)
        path.unlink()
        return True

    def _signal(self, root: "etree._Element", device_id: str) -> bool:
        signal = root.find(jdf("Signal"))
        if signal is None:
            return True
        heard = True
        for channel in self._channels.for_signal(signal.get("Type", ""), device_id):
            signal.set("refID", channel.channel_id)
            signal.set("ChannelMode", channel.mode)
            well = _post(channel.url, as_bytes(root), JMF_CONTENT_TYPE)
            heard = heard and (well or channel.mode == "FireAndForget")
        return heard

    def _tell_queue(self, lane: LaneSettings) -> None:
        """Entries that changed, as a QueueStatus signal. Lost in a kill: whoever polls makes it good."""
        now = {
            entry.serial: (entry, self._simulator.status(entry))
            for entry in self._simulator.entries
            if entry.device_id == lane.device_id
        }
        changed = {serial: one for serial, one in now.items() if self._told.get(serial) != one[1]}
        if changed and self._signal(self._queue_signal(lane, changed), lane.device_id):
            self._told |= {serial: status for serial, (_, status) in changed.items()}

    def _queue_signal(self, lane: LaneSettings, changed: Mapping[str, tuple[Entry, str]]) -> "etree._Element":
        self._count += 1
        version = self._press.jdf_version
        root = self._document()
        stamp = "".join(letter for letter in self._clock.timestamp() if letter.isdigit())
        signal = add(root, "Signal", version, {"ID": f"Q-{stamp}-{self._count}", "Type": "QueueStatus"})
        signal.set(XSI_TYPE, "SignalQueueStatus")
        queue = add(signal, "Queue", version, {"DeviceID": lane.device_id, "Status": "Waiting"})
        for entry, status in changed.values():
            named = {"QueueEntryID": entry.serial, "JobID": entry.job_id, "JobPartID": entry.job_part_id}
            add(queue, "QueueEntry", version, named | {"Status": status})
        return root

    def _give_back(self, path: Path) -> bool:
        """One finished ticket, where its submission said where to; else it stays in the folder."""
        entry = self._simulator.entries.get(path.stem)
        if entry is None or entry.return_jmf is None:
            return True
        ticket = path.read_bytes()
        root = self._document()
        command = add(
            root, "Command", self._press.jdf_version, {"ID": f"R-{entry.serial}", "Type": "ReturnQueueEntry"}
        )
        command.set(XSI_TYPE, "CommandReturnQueueEntry")
        node = safe_xml.parse(ticket)
        ended = "Aborted" if node.get("Status") == "Aborted" else "Completed"
        params = {"QueueEntryID": entry.serial, "URL": "cid:ticket", ended: node.get("ID", "")}
        add(command, "ReturnQueueEntryParams", self._press.jdf_version, params)
        if not _post(entry.return_jmf, *packed(as_bytes(root), ticket)):
            return False
        path.unlink()
        return True

    def _document(self) -> "etree._Element":
        major, minor = self._press.jdf_version
        return new_message(
            {
                "SenderID": self._press.sender_id,
                "TimeStamp": self._clock.timestamp(),
                "Version": f"{major}.{minor}",
            }
        )


def _post(url: str, body: bytes, content_type: str) -> bool:
    """Whether the other side has it: an answer of 200, and no Response in it that says otherwise."""
    parts = urlsplit(url)
    connection = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=PATIENCE_S)
    try:
        connection.request("POST", parts.path or "/", body, {"Content-Type": content_type})
        answer = connection.getresponse()
        told = answer.read(LIMIT_BYTES)
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
    if answer.status != 200:
        return False
    if not told.strip():
        return True
    try:
        responses = safe_xml.parse(told).iter(jdf("Response"))
    except safe_xml.NotReadable:
        return False
    return all(response.get("ReturnCode", "0") in ("0", "105") for response in responses)
