"""The bridge and a simulated press by JMF over HTTP, as programs: whatever goes wrong between them, each ticket prints once.

Judged by what the press itself wrote down (its print log), by the MIS's folders and by the history in the store.
"""

import json
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from lxml import etree

from tests.processes.message_sink import JDF, MessageSink
from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.config.load import load_shop
from ticketbridge.demo.orders import artwork, ticket

pytestmark = pytest.mark.processes

PATIENCE_S = 90
LANE = "HL-P1-A"


@dataclass
class Shop:
    """A shop folder with a running bridge and a running press."""

    bench: Bench
    press_folder: Path
    sink: MessageSink
    programs: list[subprocess.Popen[str]]

    def start_press(self) -> int:
        port_file = self.press_folder / "control" / "http-port"
        port_file.unlink(missing_ok=True)
        self.programs.append(_program("press-sim", str(self.press_folder), "--clock-factor", "0"))
        _wait_until(lambda: port_file.exists() and port_file.read_text().endswith("\n"), "the press listens")
        return int(port_file.read_text())

    def start_bridge(self) -> None:
        self.programs.append(_program("run", "--shop", str(self.bench.folder)))

    def kill_newest(self) -> None:
        program = self.programs.pop()
        program.kill()
        program.communicate()

    def mischief(self, *names: str) -> None:
        for name in names:
            trick, _, number = name.partition("=")
            (self.press_folder / "control" / "http" / trick).write_text(number)

    def order(self, number: int) -> str:
        job_id = f"HL-9{number:04d}"
        data = ticket(BANNER).replace(BANNER.job_id.encode(), job_id.encode())
        (self.bench.source.drop / "art" / f"{job_id}.pdf").write_bytes(artwork(BANNER))
        temporary = self.bench.source.drop / f".{job_id}.tmp"
        temporary.write_bytes(data)
        temporary.rename(self.bench.source.drop / f"{job_id}.jdf")
        return job_id

    def returned(self) -> dict[str, str]:
        found = {}
        for path in self.bench.source.returned.glob("Q*.jdf"):
            root = etree.parse(str(path)).getroot()
            found[root.get("JobID")] = root.get("Status")
        return found

    def printed(self) -> dict[str, Counter[str]]:
        """By job, how many placements each of the press's serials laid down."""
        log = self.press_folder / "print-log.jsonl"
        rows = [json.loads(line) for line in log.read_text().splitlines()] if log.exists() else []
        jobs: dict[str, Counter[str]] = {}
        for row in rows:
            jobs.setdefault(row["job_id"], Counter())[row["serial"]] += 1
        return jobs

    def history(self, job_id: str) -> list[str]:
        bridge = self.bench.start()
        with bridge.store.transaction() as tx:
            [job] = [one for one in tx.all_jobs() if one.job_id == job_id]
            found = [event["what"] for event in tx.history(job.queue_entry_id)]
        bridge.store.close()
        return found


def _program(*words: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "ticketbridge", *words, "--stop-at-eof"],
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip


def _wait_until(condition: Callable[[], bool], what: str) -> None:
    until_s = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < until_s, f"waited in vain until {what}"
        time.sleep(0.1)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    bench = Bench(tmp_path / "shop")
    press_folder = tmp_path / "press"
    press_folder.mkdir()
    settings = (bench.folder / "simulated-press" / "P1" / "press.yaml").read_text()
    settings = settings.replace("../../lanes", "lanes").replace("press_id: P1", "press_id: P1\nhttp_port: 0")
    (press_folder / "press.yaml").write_text(settings)
    made = Shop(bench, press_folder, MessageSink(bench.folder / "lanes" / LANE), [])
    port = made.start_press()
    (press_folder / "press.yaml").write_text(settings.replace("http_port: 0", f"http_port: {port}"))
    presses = bench.folder / "presses.yaml"
    link = f"{{url: http://127.0.0.1:{port}/jmf, answer_url: {made.sink.url}, poll_s: 1, patience_s: 1, settle_s: 0.5}}"
    text = (
        presses.read_text()
        .replace("  - id: P1\n", f"  - id: P1\n    jmf: {link}\n")
        .replace("ahead: 1", "ahead: 3")
        .replace("length_left_m: 50}", "length_left_m: 400}", 1)  # so that all of them fit on lane A
    )
    presses.write_text(text)
    shop_file = bench.folder / "shop.yaml"
    shop_file.write_text(
        shop_file.read_text().replace("scan_s: 5", "scan_s: 0.3").replace("quiet_s: 2", "quiet_s: 0.2")
    )
    load_shop(bench.folder)
    made.start_bridge()
    yield made
    for program in made.programs:
        program.communicate()  # closes its standard input, which ends it
    made.sink.stop()


TRICKS = (
    (),
    ("silence-SubmitQueueEntry",),
    ("cut-SubmitQueueEntry",),
    ("deaf-SubmitQueueEntry",),
    ("late-SubmitQueueEntry=3",),
    ("wrong-code-SubmitQueueEntry=2",),
    ("wrong-code-SubmitQueueEntry=101",),
    ("refuse-SubmitQueueEntry=112",),
    ("twice", "swapped"),
    ("silence-SubmitQueueEntry", "deaf-QueueStatus"),
)


def test_whatever_goes_wrong_each_ticket_prints_once_and_comes_back(shop: Shop) -> None:
    jobs = []
    for number, tricks in enumerate(TRICKS):
        shop.mischief(*tricks)
        if number == 8:
            shop.sink.failing = 3
        job_id = shop.order(number)
        jobs.append(job_id)
        _wait_until(lambda job_id=job_id: job_id in shop.returned(), f"{job_id} is back after {tricks}")

    assert shop.returned() == dict.fromkeys(jobs, "Completed")
    printed = shop.printed()
    assert {job: len(serials) for job, serials in printed.items()} == dict.fromkeys(jobs, 1)
    assert {sum(serials.values()) for serials in printed.values()} == {3}
    for job_id in jobs:
        story = shop.history(job_id)
        assert story[0] == "accepted"
        assert story[-1] == "returned"
        assert "press.in-doubt" not in story
    assert len(shop.sink.signal_ids) > len(set(shop.sink.signal_ids)), "one signal came twice"


def test_a_bridge_and_a_press_that_are_killed_in_between_print_each_ticket_once(shop: Shop) -> None:
    jobs = []
    for number in range(4):
        shop.mischief("late-SubmitQueueEntry=0.5")
        jobs.append(shop.order(number))
        time.sleep(0.4 + 0.35 * number)
        shop.kill_newest()  # the bridge
        if number % 2:
            shop.kill_newest()  # the press
            shop.start_press()
        shop.start_bridge()
    _wait_until(lambda: set(shop.returned()) == set(jobs), "all are back")

    assert shop.returned() == dict.fromkeys(jobs, "Completed")
    assert {job: len(serials) for job, serials in shop.printed().items()} == dict.fromkeys(jobs, 1)
    assert {sum(serials.values()) for serials in shop.printed().values()} == {3}


def test_the_ticket_comes_back_with_amounts_phases_lots_ink_and_people(shop: Shop) -> None:
    job_id = shop.order(1)
    _wait_until(lambda: job_id in shop.returned(), "it is back")

    [path] = shop.bench.source.returned.glob("Q*.jdf")
    root = etree.parse(str(path)).getroot()
    [node] = root.findall(f"{JDF}JDF")
    phases = [phase.get("Status") for phase in node.iter(f"{JDF}PhaseTime")]
    assert phases == ["Setup", "InProgress", "Cleanup"]
    parts = [
        (part.get("LotID") or part.get("Separation") or "pieces", part.get("Condition"))
        for amount in node.iter(f"{JDF}PartAmount")
        if amount.get("ActualAmount")
        for part in amount.iter(f"{JDF}Part")
    ]
    assert {("pieces", "Good"), ("pieces", "Waste"), ("B510-2207", "Good"), ("B510-2207", "Waste")} <= set(
        parts
    )
    assert ("Cyan", None) in parts
    assert {one.get("PersonalID") for one in node.iter(f"{JDF}Employee")} == {"op-07"}
