"""A shop whose press 1 speaks JMF, and a press in this process that can be made to misbehave."""

import itertools
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from email import message_from_bytes
from pathlib import Path

import httpx2
from lxml import etree

from tests.unit.flow.bench import Bench
from tests.unit.made import NOW
from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.logs import Notices
from ticketbridge.daemon.press_line import CommandSender, PressLine
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.passing_on import letterhead, press_channel
from ticketbridge.flow.press.press_answers import FromPress, take_from_press
from ticketbridge.jdf.post import Poster
from ticketbridge.jdf.writing import Element, as_bytes, child, jdf_root, moment
from ticketbridge.model.retry import ChannelRules
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"
URL = "http://press-1.example/jmf"
ANSWER_URL = "http://bridge.example/jmf"


@dataclass
class Entry:
    """One entry of the press's queue."""

    name: str
    job_id: str
    job_part_id: str
    status: str = "Waiting"


@dataclass
class FakePress:
    """Takes JMF. ``troubles`` befall the next exchanges, one each; an empty text befalls none.

    ``off``: no connection. ``lost``: done, and no answer. ``cut``: done, and half an answer. ``deaf``: not done, and
    no answer. A number: not done, and that ReturnCode. ``wrong 2``: done, and ReturnCode 2 all the same.
    """

    troubles: deque[str] = field(default_factory=deque)
    lists_jobs: bool = True
    tells_queue: bool = True
    signals: bool = True
    refuses_doubles: bool = False
    entries: list[Entry] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    before: Callable[[], None] = lambda: None
    """Called before and after each exchange: a test may end the process there."""

    def handle(self, request: httpx2.Request) -> httpx2.Response:
        self.before()
        trouble = self.troubles.popleft() if self.troubles else ""
        if trouble == "off":
            raise httpx2.ConnectError("refused")
        if trouble == "deaf":
            raise httpx2.ReadTimeout("no answer")
        jmf, ticket = _unpacked(request)
        self.asked += [f"{one.get('Type')}" for one in jmf]
        if trouble.isdigit():
            answer = _answer(jmf, [self._no(one, int(trouble)) for one in jmf])
        else:
            answer = _answer(jmf, [self._yes(one, ticket) for one in jmf])
        if trouble.startswith("wrong"):
            answer = _answer(jmf, [self._no(one, int(trouble.split()[1])) for one in jmf])
        self.before()
        if trouble == "lost":
            raise httpx2.ReadTimeout("no answer")
        if trouble == "cut":
            raise httpx2.RemoteProtocolError("closed in the middle")
        return httpx2.Response(200, content=answer)

    def _no(self, message: Element, code: int) -> Element:
        response = child(None, "Response", Type=message.get("Type", ""), refID=message.get("ID", ""))
        response.set("ReturnCode", str(code))
        return response

    def _yes(self, message: Element, ticket: bytes | None) -> Element:
        response, kind = self._no(message, 0), message.get("Type")
        if kind == "SubmitQueueEntry":
            assert ticket is not None
            root = etree.fromstring(ticket)
            known = [one.job_part_id for one in self.entries]
            if self.refuses_doubles and root.get("JobPartID") in known:
                return self._no(message, 116)
            entry = Entry(f"P-{len(self.entries) + 1}", root.get("JobID", ""), root.get("JobPartID", ""))
            self.entries.append(entry)
            child(response, "QueueEntry", QueueEntryID=entry.name, Status=entry.status)
        elif kind == "QueueStatus" and message.find(jdf("Subscription")) is None:
            if not self.tells_queue:
                return self._no(message, 5)
            queue = child(response, "Queue", DeviceID=LANE, Status="Waiting")
            for one in self._filtered(message):
                entry = child(queue, "QueueEntry", QueueEntryID=one.name, Status=one.status)
                if self.lists_jobs:
                    entry.set("JobID", one.job_id)
                    entry.set("JobPartID", one.job_part_id)
        elif message.find(jdf("Subscription")) is not None:
            return self._no(message, 0 if self.signals else 111)
        elif kind == "Status":
            child(response, "DeviceInfo", DeviceID=LANE, DeviceStatus="Idle")
        return response

    def _filtered(self, message: Element) -> list[Entry]:
        wanted = message.find(jdf("QueueFilter"))
        part = None if wanted is None else wanted.get("JobPartID")
        return [one for one in self.entries if part in (None, one.job_part_id) or not self.lists_jobs]


def _unpacked(request: httpx2.Request) -> tuple[Element, bytes | None]:
    content_type = request.headers["content-type"]
    if not content_type.startswith("multipart/related"):
        return etree.fromstring(request.content), None
    mail = message_from_bytes(f"Content-Type: {content_type}\r\n\r\n".encode() + request.content)
    jmf, ticket = (part.get_payload(decode=True) for part in mail.get_payload())
    return etree.fromstring(jmf), ticket


def _answer(jmf: Element, responses: list[Element]) -> bytes:
    root = jdf_root("JMF", SenderID="press", TimeStamp=moment(NOW), Version="1.7")
    for place, response in enumerate(responses):
        response.set("ID", f"R{place}")
        root.append(response)
    return as_bytes(root)


@dataclass
class JmfBench(Bench):
    """The sample shop with press 1 by JMF; time passes when it is let."""

    press: FakePress = field(default_factory=FakePress)
    elapsed_s: float = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        self.configure(f"{{url: {URL}, answer_url: {ANSWER_URL}}}")

    def configure(self, link: str) -> None:
        file = self.folder / "presses.yaml"
        lines = [line for line in file.read_text().split("\n") if not line.startswith("    jmf:")]
        place = lines.index("  - id: P1")
        file.write_text("\n".join([*lines[: place + 1], f"    jmf: {link}", *lines[place + 1 :]]))

    def line(self, bridge: Bridge, device_id: str = LANE) -> PressLine:
        """The talk with one lane, as a new process would begin it."""

        def hand(item: FromPress) -> bool:
            take_from_press(bridge, item)
            return True

        link = bridge.link(device_id)
        assert link is not None
        client = httpx2.Client(transport=httpx2.MockTransport(self.press.handle))
        poster = Poster(link.url, client=client)
        clocks = Clocks(lambda: NOW + timedelta(seconds=self.elapsed_s), lambda: self.elapsed_s)
        sender = CommandSender(device_id, poster, hand)
        channel = press_channel(device_id)
        return PressLine(
            head=letterhead(bridge, device_id),
            link=link,
            tickets=bridge.lane_places(device_id).tickets,
            store=bridge.store,
            poster=poster,
            commands=Channel(channel, sender, bridge.store, ChannelRules(), Notices(), clocks),
            hand=hand,
            beat=lambda: None,
            notices=Notices(),
            clocks=clocks,
        )

    def talk(self, line: PressLine, seconds: float = 60) -> None:
        """Turn the talk for so long, in steps of a second or, over longer times, a few."""
        until_s, step_s = self.elapsed_s + seconds, max(1.0, seconds / 60)
        while self.elapsed_s < until_s:
            for _ in itertools.takewhile(bool, (line.turn() for _ in range(100))):
                pass
            self.elapsed_s += step_s

    def history(self, bridge: Bridge, queue_entry_id: str = "Q000001") -> list[str]:
        with bridge.store.transaction() as tx:
            return [event["what"] for event in tx.history(queue_entry_id)]


def temporary_files(folder: Path) -> list[str]:
    """Names of tickets that wait under a temporary name."""
    return sorted(path.name for path in folder.glob(".ticketbridge-*"))
