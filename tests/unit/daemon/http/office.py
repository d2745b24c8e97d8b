"""A bridge that listens, in this process: the flow in one thread, the server in another, a partner to speak with."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx2
from lxml import etree

from tests.stores import chosen
from tests.unit.flow.bench import BANNER, Bench
from ticketbridge import __version__
from ticketbridge.config.load import load_shop
from ticketbridge.daemon import clock
from ticketbridge.daemon.flow_loop import FlowLoop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.http.desk import Desk
from ticketbridge.daemon.http.server import HttpLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.demo.orders import DemoOrder, artwork, ticket
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.keep.rescue import rescue
from ticketbridge.model.queue_state import QueueState
from ticketbridge.model.share import Share
from ticketbridge.store.store import open_view
from ticketbridge.vocabulary.names import jdf

HELD = QueueState(held=True)
JMF = "application/vnd.cip4-jmf+xml"
HEAD = (
    '<JMF xmlns="http://www.CIP4.org/JDFSchema_1_1" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
    'SenderID="{sender}" TimeStamp="2026-11-25T09:00:00Z" Version="1.7"{more}>'
)
SENDERS = """
jmf:
  port: 0
{more}
  senders:
    - id: mis
      sender_ids: [Harbourlight MIS*]
      source: mis
      ticket_folders: [artwork]
      signal_urls: ['http://127.0.0.1:9']
"""
PRESS = """\
    - id: press-1
      sender_ids: [press-1]
      lanes: [HL-P1-A, HL-P1-B]
"""


def jmf(*messages: str, sender: str = "Harbourlight MIS", device_id: str | None = None) -> bytes:
    """A JMF document."""
    more = f' DeviceID="{device_id}"' if device_id else ""
    return "".join([HEAD.format(sender=sender, more=more), *messages, "</JMF>"]).encode()


def query(kind: str, content: str = "", message_id: str = "q1") -> str:
    return f'<Query xsi:type="Query{kind}" ID="{message_id}" Type="{kind}">{content}</Query>'


def command(kind: str, content: str = "", message_id: str = "c1") -> str:
    return f'<Command xsi:type="Command{kind}" ID="{message_id}" Type="{kind}">{content}</Command>'


def submit(message_id: str = "c1", url: str = "cid:ticket", **params: str) -> str:
    said = "".join(f' {name}="{value}"' for name, value in params.items())
    return command("SubmitQueueEntry", f'<QueueSubmissionParams URL="{url}"{said}/>', message_id)


def package(*parts: tuple[str, str, bytes], boundary: str = "=b=") -> tuple[bytes, str]:
    """A package of (Content-ID, type, content), and its Content-Type."""
    body = b""
    for name, kind, content in parts:
        head = f"--{boundary}\r\nContent-Type: {kind}\r\nContent-ID: <{name}>\r\n\r\n"
        body += head.encode() + content + b"\r\n"
    return body + f"--{boundary}--\r\n".encode(), f'multipart/related; boundary="{boundary}"; type="{JMF}"'


def submission(
    order: DemoOrder = BANNER, message: str | None = None, art: bytes | None = None
) -> tuple[bytes, str]:
    """A whole SubmitQueueEntry package with ticket and artwork."""
    data = ticket(order).replace(f"art/{order.job_id}.pdf".encode(), b"cid:art")
    return package(
        ("jmf", JMF, jmf(message or submit())),
        ("ticket", "application/vnd.cip4-jdf+xml", data),
        ("art", "application/pdf", artwork(order) if art is None else art),
    )


@dataclass
class Said:
    """An answer: each Response with its refID, Type and ReturnCode."""

    status: int
    body: bytes

    @property
    def root(self) -> Any:
        return etree.fromstring(self.body)

    @property
    def responses(self) -> list[Any]:
        return list(self.root.iterchildren(jdf("Response")))

    @property
    def codes(self) -> list[str]:
        return [one.get("ReturnCode", "") for one in self.responses]

    def find(self, name: str) -> Any:
        return self.root.find(f".//{jdf(name)}")

    @property
    def text(self) -> str:
        return " ".join(one.text or "" for one in self.root.iter(jdf("Comment")))


@dataclass
class Office:
    """The bridge and its address."""

    bench: Bench
    bridge: Bridge
    address: str
    flow: FlowLoop
    desk: Desk
    loop: HttpLoop
    said: list[bytes] = field(default_factory=list)

    def post(self, body: bytes, content_type: str = JMF, **headers: str) -> Said:
        with httpx2.Client(trust_env=False, timeout=30) as client:
            answer = client.post(
                f"http://{self.address}/jmf",
                content=body,
                headers={"Content-Type": content_type, **headers},
            )
        if answer.content:
            self.said.append(answer.content)
        return Said(answer.status_code, answer.content)

    def submit(self, order: DemoOrder = BANNER, message: str | None = None) -> Said:
        return self.post(*submission(order, message))

    def at(self, place: Path) -> list[str]:
        return self.bench.files(place)


@contextmanager
def open_office(
    folder: Path,
    more: str = "",
    *,
    released: bool = False,
    only_mis: bool = False,
    **sender: str,
) -> Iterator[Office]:
    """Open for as long as the block lasts.

    Args:
        folder: Where the shop is made.
        more: Lines of the ``jmf`` block.
        released: Whether tickets may go to the lanes.
        only_mis: Whether the press is no sender.
        sender: More keys of the MIS.
    """
    bench = Bench(folder)
    listen(folder, more, only_mis=only_mis, **sender)
    with serving(bench, released=released) as office:
        yield office


def listen(folder: Path, more: str = "", *, only_mis: bool = False, **sender: str) -> None:
    """Write into a shop that its bridge listens, and for whom."""
    shop = folder / "shop.yaml"
    said = "".join(f"      {name}: {value}\n" for name, value in sender.items())
    press = "" if only_mis else PRESS
    shop.write_text(shop.read_text() + SENDERS.format(more=more) + said + press)


@contextmanager
def serving(bench: Bench, *, released: bool = False, share: Share | None = None) -> Iterator[Office]:
    """The bridge of a shop that says how it listens; with a share, one of several."""
    folder = bench.folder
    bridge = Bridge(
        shop=load_shop(folder).shop,
        store=bench.start().store,
        places=bench.start().places,
        now=clock.now,
        disk=bench.start().disk,
        agent_version=__version__,
        notice=lambda event, **facts: bench.notices.append((event, facts)),
    )
    if share is not None:
        bridge.share = share
    for box in (bridge.places.requests, bridge.places.replies):
        box.mkdir(exist_ok=True)
    rescue(bridge, crashed=True)
    if not released:
        with bridge.store.transaction() as tx:
            for device_id in bridge.lanes:
                tx.set_queue_state(device_id, HELD)
            bridge.queues = tx.queue_states()
    notices, heartbeats = Notices(), Heartbeats(clock.monotonic)
    flow = FlowLoop(bridge, lambda: None, notices, heartbeats)
    if share is not None:
        flow.before_turn = bridge.read_queues  # as whoever shares does: another may have changed them
    settings = bridge.shop.settings.jmf
    assert settings is not None
    view = open_view(chosen().address(folder))
    desk = Desk(settings, bridge, view, flow.do, flow.claimed, flow.wake, notices)
    server = HttpLoop(desk, folder, heartbeats)
    moving = threading.Thread(target=flow.run, daemon=True)
    moving.start()
    server.start()
    while not server._server.started:
        threading.Event().wait(0.01)
    try:
        yield Office(bench, bridge, server.address(), flow, desk, server)
    finally:
        server.stop()
        server.join(10)
        flow.stop()
        moving.join(10)
        view.close()
