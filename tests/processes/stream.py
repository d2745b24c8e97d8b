"""A shop under a stream of tickets: bridges, presses and a subscriber as programs that may be killed and paused."""

import contextlib
import itertools
import random
import re
import signal
import socket
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import httpx2

from tests.processes.programs import PATIENCE_S, Program, free_port, wait_until
from tests.unit.daemon.http.office import submission, submit
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.demo.orders import BANNER, DemoOrder, artwork, ticket

QUIET_S = 5
ELSEWHERE_S = 3
"""So long an answer is waited for where another bridge can be asked."""
SINK = Path(__file__).with_name("signal_sink.py")
FASTER = "100"
"""How many times faster than real ones the presses print: about half a second a ticket, so that kills find them at work."""
ENTRY = re.compile(rb'<QueueEntry QueueEntryID="(Q\d+)" JobID="([^"]+)"')
JMF = """
jmf:
  port: {port}
  senders:
    - id: mis
      sender_ids: [Harbourlight MIS*]
      source: mis
      signal_urls: ['{sink}']
    - id: press-1
      sender_ids: [HL-P1]
      lanes: [HL-P1-A, HL-P1-B]
"""


@dataclass
class House:
    """The folders, with the programs that work on them, and what was ordered."""

    folder: Path
    sink_port: int
    sink: Program
    bridges: list[Program]
    presses: list[Program]
    ports: list[int] = field(default_factory=list)
    """Where the bridges listen."""
    dropped: list[DemoOrder] = field(default_factory=list)
    submitted: dict[str, str] = field(default_factory=dict)
    """Queue entries by JobID, as they were answered."""
    unanswered: int = 0
    """How often a submission had to be made again."""
    elsewhere: int = 0
    """How often it was another bridge that answered."""

    @property
    def shop(self) -> Path:
        return self.folder / "shop"

    @property
    def journal(self) -> Path:
        return self.folder / "journal.jsonl"

    @property
    def programs(self) -> list[Program]:
        return [self.sink, *self.presses, *self.bridges]

    @property
    def job_ids(self) -> set[str]:
        return {order.job_id for order in self.dropped} | set(self.submitted)

    def drop(self, order: DemoOrder) -> None:
        drop = self.shop / "hotfolders" / "mis" / "drop"
        (drop / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
        (drop / f".{order.file_name}").write_bytes(ticket(order))
        self.dropped.append(order)
        (drop / f".{order.file_name}").rename(drop / order.file_name)

    def submit(self, order: DemoOrder) -> None:
        """Again and again, at one bridge after the other, until the answer is yes, as an MIS does."""
        body, kind = submission(order, submit(f"m-{order.job_id}", ReturnJMF=self.url_of("returns")))
        first = len(self.submitted) % len(self.ports)
        ports = itertools.cycle(self.ports[first:] + self.ports[:first])
        before = self.unanswered
        wait_until(lambda: self._answered(order.job_id, body, kind, next(ports)), f"{order.job_id} is taken")
        self.elsewhere += (self.unanswered - before) % len(self.ports) != 0

    def _answered(self, job_id: str, body: bytes, kind: str, port: int) -> bool:
        answer = self.post(body, kind, port)
        if b'ReturnCode="0"' not in answer:
            assert answer == b"" or re.search(rb'ReturnCode="(10|11)"', answer), answer
            self.unanswered += 1
            return False
        match = ENTRY.search(answer)
        assert match is not None, answer
        assert match[2].decode() == job_id
        self.submitted[job_id] = match[1].decode()
        return True

    def post(self, body: bytes, kind: str = "application/vnd.cip4-jmf+xml", port: int | None = None) -> bytes:
        """A bridge's answer; nothing where there was none."""
        try:
            answer = httpx2.post(
                f"http://127.0.0.1:{port or self.ports[0]}/jmf",
                content=body,
                headers={"Content-Type": kind},
                timeout=30 if len(self.ports) == 1 else ELSEWHERE_S,
                trust_env=False,
            )
        except httpx2.TransportError:
            return b""
        return b"" if answer.status_code == 503 else answer.content

    def url_of(self, path: str) -> str:
        return f"http://127.0.0.1:{self.sink_port}/{path}"

    def listens(self) -> bool:
        """Whether all of them do."""
        return all(map(_listens, self.ports))

    def returned(self) -> int:
        return len(list(self.shop.glob("hotfolders/mis/returned/*.jdf")))

    def until_one_more_is_back(self, at_most_s: float) -> None:
        """Until another ticket was returned; where none comes, as all are or the press is dead, not for long."""
        before, until_s = self.returned(), time.monotonic() + at_most_s
        while self.returned() == before and time.monotonic() < until_s:
            time.sleep(0.05)

    def until_quiet(self, between: Callable[[], None] = lambda: None) -> None:
        """Until every ticket is back, and nothing more is told. Patience ends when nothing has moved for long.

        Args:
            between: Called while waiting.
        """
        seen, since_s = (-1, -1), time.monotonic()
        while self.returned() < len(self.job_ids) or time.monotonic() - since_s < QUIET_S:
            between()
            if seen != (seen := (self.returned(), self.journal.stat().st_size)):
                since_s = time.monotonic()
            still = f"{seen[0]} of {len(self.job_ids)} are back, and nothing moves"
            assert time.monotonic() - since_s < PATIENCE_S, still
            time.sleep(0.2)


def _listens(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def orders(prefix: str, count: int, chance: random.Random) -> Iterator[DemoOrder]:
    """Small banners of all sorts; some too wide for the lanes of press 1."""
    for number in range(count):
        width_mm = chance.choice((400, 600, 700, 2000))
        yield replace(
            BANNER,
            file_name=f"{prefix}-{number:04d}.jdf",
            job_id=f"{prefix}-{number:04d}",
            width_mm=width_mm,
            height_mm=chance.choice((300, 400)),
            quantity=chance.choice((1, 2, 3)),
        )


def change(file: Path, *changes: tuple[str, str]) -> None:
    text = file.read_text()
    for old, new in changes:
        assert old in text, f"{file.name} of the sample shop no longer says {old}"
        text = text.replace(old, new)
    file.write_text(text)


def new_house(
    folder: Path, *, bridges: Sequence[Sequence[str]], by_message: bool = False, store: str = ""
) -> House:
    """A house with long rolls, a subscriber to everything, and press 1 by folder or by message.

    Args:
        folder: Empty.
        bridges: Commands that start a bridge, without the shop.
        by_message: Whether the bridge listens to JMF, and speaks it with press 1.
        store: Address of a database.
    """
    shop, sink_port, press_port = folder / "shop", free_port(), free_port()
    ports = [free_port() for _ in bridges]
    copy_sample_shop(shop)
    change(
        shop / "presses.yaml",
        ("substrate: CANVAS380, lot: C380-0915", "substrate: BAN510, lot: B510-2209"),
        ("length_left_m: 50}", "length_left_m: 2000}"),
        ("length_left_m: 30}", "length_left_m: 2000}"),
        ("ahead: 1", "ahead: 2"),
    )
    listens = JMF.format(port=ports[0], sink=f"http://127.0.0.1:{sink_port}") if by_message else ""
    change(
        shop / "shop.yaml",
        (
            "    mapping: mis\n    # Besides",
            f"    mapping: mis\n    status_url: http://127.0.0.1:{sink_port}/all\n    # Besides",
        ),
        ("scan_s: 5", "scan_s: 0.5"),
        ("quiet_s: 2", "quiet_s: 0.2"),
        ("name: Harbourlight Graphics", f"{store}\nname: Harbourlight Graphics"),
    )
    (shop / "shop.yaml").write_text((shop / "shop.yaml").read_text() + listens)
    if by_message:
        link = (
            f"{{url: 'http://127.0.0.1:{press_port}/jmf', answer_url: 'http://127.0.0.1:{ports[0]}/jmf', "
            "poll_s: 1, patience_s: 2, settle_s: 0.5}"
        )
        change(shop / "presses.yaml", ("  - id: P1\n", f"  - id: P1\n    jmf: {link}\n"))
        change(
            shop / "simulated-press" / "P1" / "press.yaml",
            ("../../lanes", "lanes"),
            ("press_id: P1", f"press_id: P1\nhttp_port: {press_port}"),
        )
    make_folders(load_shop(shop))
    (shop / "hotfolders" / "mis" / "drop" / "art").mkdir()
    bridge, simulated = [sys.executable, "-m", "ticketbridge"], ["--stop-at-eof", "--clock-factor", FASTER]
    run = ["run", "--shop", str(shop), "--stop-at-eof"]
    at = [["--listen", f"127.0.0.1:{port}"] if by_message else [] for port in ports]
    presses = [
        Program(
            [*bridge, "press-sim", str(shop / "simulated-press" / name), *simulated],
            folder / f"press-{name}.log",
        )
        for name in ("P1", "P2")
    ]
    return House(
        folder=folder,
        sink_port=sink_port,
        sink=Program(
            [sys.executable, str(SINK), str(sink_port), str(folder / "journal.jsonl")], folder / "sink.log"
        ),
        bridges=[
            Program([*command, *run, *at[number]], folder / f"bridge-{number}.log")
            for number, command in enumerate(bridges)
        ],
        presses=presses,
        ports=ports if by_message else [],
    )


@contextlib.contextmanager
def running(house: House) -> Iterator[House]:
    """Its programs, started; all are gone at the end."""
    house.journal.touch()
    try:
        for program in house.programs:
            program.start()
        yield house
    finally:
        for program in house.programs:
            if not program.ended:
                program.send(signal.SIGCONT)
                program.kill()
