"""A small disk fills up under a burst of tickets: the bridge stops claiming, goes on answering, and resumes by itself."""

import json
import os
import re
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.benchmarks.tickets import write_artwork, write_tickets
from tests.mounting import small_disk
from ticketbridge.cli.init import init
from ticketbridge.spool.durable import free_mb

pytestmark = pytest.mark.processes

BURST = 2_000
DISK_MB = 320
KEEP_FREE_MB = 24
LEFT_MB = 8
"""Room for tickets beside the reserve and the dropped files: for some of the burst, not for all of it."""
PATIENCE_S = 400


def prepared_shop(folder: Path) -> None:
    """The sample shop, but nobody prints, and a reserve that a small disk has."""
    assert CliRunner().invoke(init, [str(folder)]).exit_code == 0
    settings = folder / "shop.yaml"
    text = settings.read_text().replace("scan_s: 5", "scan_s: 0.5")
    settings.write_text(f"keep_free_mb: {KEEP_FREE_MB}\n{text}")
    presses = folder / "presses.yaml"
    presses.write_text(re.sub(r"length_left_m: \d+", "length_left_m: 100000", presses.read_text()))


class Bridge:
    """The running bridge and what can be seen of it from outside."""

    def __init__(self, shop: Path, log: Path) -> None:
        self.shop, self.log = shop, log
        self.source = shop / "hotfolders" / "mis"
        with log.open("wb") as output:
            command = [sys.executable, "-m", "ticketbridge", "run", "--shop", str(shop), "--stop-at-eof"]
            self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=output)

    def lines(self, event: str) -> list[dict[str, Any]]:
        logged = [json.loads(line) for line in self.log.read_text().splitlines() if line.startswith("{")]
        return [line for line in logged if line["event"] == event]

    def count(self, place: str) -> int:
        return sum(name.endswith(".jdf") for name in os.listdir(self.source / place))

    def until(self, true: Callable[[], bool], what: str) -> None:
        until_s = time.monotonic() + PATIENCE_S
        while not true():
            assert self.process.poll() is None, self.log.read_text()[-3000:]
            assert time.monotonic() < until_s, f"waited in vain until {what}: {self.log.read_text()[-3000:]}"
            time.sleep(0.1)

    def asked(self, *words: str) -> str:
        command = [sys.executable, "-m", "ticketbridge", *words]
        return subprocess.run(command, capture_output=True, text=True, timeout=60).stdout


@contextmanager
def running(shop: Path, log: Path) -> Any:
    bridge = Bridge(shop, log)
    try:
        yield bridge
    finally:
        bridge.process.kill()
        bridge.process.communicate()


@pytest.mark.timeout(900)
def test_a_burst_on_a_disk_that_fills_up_is_taken_in_whole_once_there_is_room(tmp_path: Path) -> None:
    disk, log = tmp_path / "disk", tmp_path / "log"
    disk.mkdir()
    with small_disk(disk, DISK_MB):
        shop = disk / "shop"
        prepared_shop(shop)
        with running(shop, log) as bridge:
            bridge.until(lambda: bool(bridge.lines("ready")), "it is ready")
            write_artwork(bridge.source / "drop")
            write_tickets(disk / "burst", 1, BURST)
            with (disk / "ballast").open("wb") as ballast:
                os.posix_fallocate(
                    ballast.fileno(), 0, int((free_mb(disk) - KEEP_FREE_MB - LEFT_MB) * 1_000_000)
                )
            for path in sorted((disk / "burst").iterdir()):
                path.rename(bridge.source / "drop" / path.name)

            # The reserve is reached: no more is claimed, what was claimed is finished, people are answered.
            bridge.until(lambda: bool(bridge.lines("intake mis takes nothing")), "the disk is full")
            bridge.until(lambda: bridge.count("claimed") == 0, "what was claimed is finished")
            assert "make room" in bridge.lines("intake mis takes nothing")[0]["reason"]
            left = bridge.count("drop")
            assert 0 < left < BURST
            held = bridge.asked("jobs", "--shop", str(shop), "hold", waiting_job(shop))
            assert "Held" in held
            assert bridge.count("drop") == left

            # Not a byte is left: nothing is lost, and nobody's ticket is at fault.
            fill(disk / "last-bytes")
            time.sleep(3)
            assert bridge.process.poll() is None
            assert bridge.count("drop") == left

            (disk / "last-bytes").unlink()
            (disk / "ballast").unlink()
            bridge.until(lambda: bridge.count("accepted") == BURST, "everything is taken in")

            assert [bridge.count(place) for place in ("drop", "claimed", "refused", "repeated")] == [
                0,
                0,
                0,
                0,
            ]
            assert bridge.lines("a step of the flow broke") == []
            with closing(sqlite3.connect(shop / "state" / "bridge.sqlite")) as store:
                assert store.execute("SELECT count(*), count(DISTINCT job_id) FROM job").fetchone() == (
                    BURST,
                    BURST,
                )


def waiting_job(shop: Path) -> str:
    with closing(sqlite3.connect(shop / "state" / "bridge.sqlite")) as store:
        query = "SELECT queue_entry_id FROM job WHERE state = 'Waiting' AND NOT given LIMIT 1"
        return str(store.execute(query).fetchone()[0])


def fill(path: Path) -> None:
    with path.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"x" * 65536)
        except OSError:
            return
