"""A lane's file system really hangs under a running bridge: frozen by the kernel, or held at its calls by strace."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.mounting import mount
from tests.processes.programs import Program, wait_until
from ticketbridge.cli.init import init
from ticketbridge.demo.orders import ORDERS, DemoOrder, artwork, ticket
from ticketbridge.vocabulary.names import MARKER_NAME

pytestmark = pytest.mark.processes

BANNER, WIDE = ORDERS[0], ORDERS[2]
HANGING, OTHER = "HL-P1-A", "HL-P2-W"
MISSED_S = 75.0
"""A loop that has not turned for a minute silences the watchdog; so the lane hangs for longer."""


class Shop:
    """The sample shop, a bridge on it that tells a supervisor that it lives, and nobody who prints."""

    def __init__(self, folder: Path, log: Path) -> None:
        assert CliRunner().invoke(init, [str(folder)]).exit_code == 0
        self.folder, self.log = folder, log
        self.source, self.lane = folder / "hotfolders" / "mis", folder / "lanes" / HANGING
        settings = folder / "shop.yaml"
        settings.write_text(settings.read_text().replace("scan_s: 5", "scan_s: 0.5"))
        (self.source / "drop" / "art").mkdir(exist_ok=True)
        self.supervisor = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.supervisor.bind(str(log.with_suffix(".sock")))
        self.pings = 0
        threading.Thread(target=self.listen, daemon=True).start()
        told = {"NOTIFY_SOCKET": str(log.with_suffix(".sock")), "WATCHDOG_USEC": "4000000"}
        command = [sys.executable, "-m", "ticketbridge", "run", "--shop", str(folder), "--stop-at-eof"]
        env = [f"{name}={value}" for name, value in told.items()]
        self.bridge = Program(["env", *env, *command], log)

    def start(self) -> None:
        before = len(self.lines("ready"))
        self.bridge.start()
        wait_until(lambda: len(self.lines("ready")) > before, "the bridge is ready")

    def lines(self, event: str) -> list[dict[str, Any]]:
        if not self.log.exists():
            return []
        logged = [json.loads(line) for line in self.log.read_text().splitlines() if line.startswith("{")]
        return [line for line in logged if line["event"] == event]

    def drop(self, number: int, like: DemoOrder) -> None:
        order = replace(like, job_id=f"HL-{number}", file_name=f"{number}.jdf")
        if order.raw is None:
            (self.source / "drop" / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
        (self.source / "drop" / order.file_name).write_bytes(ticket(order))

    def tickets(self, lane: str) -> list[str]:
        return [name for name in os.listdir(self.folder / "lanes" / lane / "in") if name[0] != "."]

    def listen(self) -> None:
        """Take what the bridge tells its supervisor, as a full socket would hold it."""
        while said := self.supervisor.recv(4096):
            self.pings += said == b"WATCHDOG=1"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    shop = Shop(tmp_path / "shop", tmp_path / "log")
    yield shop
    if not shop.bridge.ended:
        shop.bridge.kill()
    shop.supervisor.shutdown(socket.SHUT_RDWR)


@contextmanager
def disk_that_can_be_frozen(folder: Path, image: Path) -> Iterator[None]:
    """A file system on a lane's folder, with the folders and markers that were there."""
    if shutil.which("mkfs.ext4") is None or shutil.which("fsfreeze") is None:
        pytest.skip("mkfs.ext4 or fsfreeze is not installed")
    names = [path.name for path in folder.iterdir()]
    with image.open("wb") as file:
        file.truncate(32 * 1024 * 1024)
    subprocess.run(["mkfs.ext4", "-q", str(image)], check=True)
    mount("-o", "loop", str(image), str(folder), or_skip=True)
    try:
        for name in names:
            (folder / name).mkdir()
            (folder / name / MARKER_NAME).touch()
        yield
    finally:
        subprocess.run(["fsfreeze", "--unfreeze", str(folder)], check=False, capture_output=True)
        subprocess.run(["umount", "--lazy", str(folder)], check=False, capture_output=True)


def freeze(folder: Path, how: str) -> None:
    done = subprocess.run(["fsfreeze", f"--{how}", str(folder)], capture_output=True, text=True)
    if done.returncode and how == "freeze":
        pytest.skip(f"this file system cannot be frozen here: {done.stderr.strip()}")


def test_a_lane_whose_disk_is_frozen_gets_its_ticket_once_when_it_answers(shop: Shop, tmp_path: Path) -> None:
    with disk_that_can_be_frozen(shop.lane, tmp_path / "image"):
        shop.start()
        freeze(shop.lane, "freeze")
        shop.drop(1, BANNER)
        wait_until(lambda: len(shop.lines("share.hangs")) == 1, "it is told that the lane hangs")
        shop.drop(2, WIDE)
        _everything_else_goes_on_until_it_answers(shop)


def test_a_bridge_starts_while_the_disk_of_a_lane_is_frozen(shop: Shop, tmp_path: Path) -> None:
    with disk_that_can_be_frozen(shop.lane, tmp_path / "image"):
        freeze(shop.lane, "freeze")
        shop.start()
        assert len(shop.lines("share.hangs")) <= 1
        shop.drop(1, BANNER)
        shop.drop(2, WIDE)
        _everything_else_goes_on_until_it_answers(shop)


def _everything_else_goes_on_until_it_answers(shop: Shop) -> None:
    wait_until(lambda: len(shop.tickets(OTHER)) == 1, "another lane is served")
    wait_until(lambda: _accepted(shop) == 2, "what comes for the lane is taken in")
    assert shop.tickets(HANGING) == []

    freeze(shop.lane, "unfreeze")
    wait_until(lambda: shop.tickets(HANGING) == ["Q000001.jdf"], "the ticket is at its press")
    _is_taken_and_comes_never_again(shop, "Q000001.jdf")


def _is_taken_and_comes_never_again(shop: Shop, name: str) -> None:
    """By a press that remembers nothing; not from the running bridge, nor from its next start."""
    (shop.lane / "in" / name).unlink()
    time.sleep(3)
    assert os.listdir(shop.lane / "in") == [MARKER_NAME]
    assert shop.bridge.stop() == 0
    shop.start()
    time.sleep(2)
    assert os.listdir(shop.lane / "in") == [MARKER_NAME]


def _accepted(shop: Shop) -> int:
    return sum(name.endswith(".jdf") for name in os.listdir(shop.source / "accepted"))


@pytest.fixture
def lane_elsewhere(shop: Shop, tmp_path: Path) -> Iterator[Path]:
    """The lane's folder on another device than the store: only what can hang by itself has a gate."""
    other = Path("/dev/shm")
    if not other.is_dir() or other.stat().st_dev == tmp_path.stat().st_dev:
        pytest.skip("there is no second device here")
    folder = Path(tempfile.mkdtemp(dir=other))
    shutil.copytree(shop.lane, folder / "lane")
    shutil.rmtree(shop.lane)
    shop.lane.symlink_to(folder / "lane")
    yield folder / "lane"
    if not shop.bridge.ended:
        shop.bridge.kill()
    shutil.rmtree(folder)


@contextmanager
def held_at(process: int, paths: list[Path], log: Path) -> Iterator[None]:
    """Every call of a process that names one of these paths stands still, until this is over."""
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed")
    named = [word for path in paths for word in ("-P", str(path))]
    rule = "inject=newfstatat,stat,statx:delay_enter=600000000"
    command = ["strace", "-f", "-qq", "-p", str(process), *named, "-e", rule, "-o", str(log)]
    tracer = subprocess.Popen(command, stderr=subprocess.PIPE)
    time.sleep(1)
    if tracer.poll() is not None:
        pytest.skip(f"strace may not attach here: {tracer.communicate()[1].decode()}")
    try:
        yield
    finally:
        tracer.kill()  # it lets go of the threads that it holds
        tracer.communicate(timeout=30)


def markers_of(*lanes: Path) -> list[Path]:
    """Of every folder of a lane, by each of its names."""
    return [lane / name / MARKER_NAME for lane in lanes for name in ("in", "status", "returned", "followed")]


def test_a_lane_that_hangs_for_longer_than_a_minute_does_not_silence_the_watchdog(
    shop: Shop, lane_elsewhere: Path, tmp_path: Path
) -> None:
    shop.start()
    assert shop.bridge.process is not None
    with held_at(shop.bridge.process.pid, markers_of(shop.lane, lane_elsewhere), tmp_path / "strace"):
        begun_s = time.monotonic()
        wait_until(lambda: len(shop.lines("share.hangs")) == 1, "it is told that the lane hangs")
        shop.drop(1, BANNER)
        shop.drop(2, WIDE)
        wait_until(lambda: len(shop.tickets(OTHER)) == 1, "another lane is served")
        wait_until(lambda: _accepted(shop) == 2, "what comes for the lane is taken in")
        while time.monotonic() - begun_s < MISSED_S:
            time.sleep(1)
        before = shop.pings
        time.sleep(10)
        assert shop.pings - before >= 2
        assert shop.tickets(HANGING) == []
    wait_until(lambda: len(shop.lines("share.answers")) == 1, "it answers")
    wait_until(lambda: shop.tickets(HANGING) == ["Q000001.jdf"], "the ticket is at its press")
    assert shop.lines("loops make no progress") == []
    assert shop.lines("the flow stands still") == []
    assert shop.bridge.stop() == 0


def test_a_bridge_that_is_stopped_while_a_lane_hangs_ends(
    shop: Shop, lane_elsewhere: Path, tmp_path: Path
) -> None:
    shop.start()
    assert shop.bridge.process is not None
    with held_at(shop.bridge.process.pid, markers_of(shop.lane, lane_elsewhere), tmp_path / "strace"):
        wait_until(lambda: len(shop.lines("share.hangs")) == 1, "it is told that the lane hangs")
        shop.bridge.send(signal.SIGTERM)
        wait_until(lambda: len(shop.lines("stopped")) == 1, "it has stopped in order")
    assert shop.bridge.stop() == 0
