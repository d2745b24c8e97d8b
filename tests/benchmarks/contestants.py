"""Who takes part, and how each is started, watched from outside and stopped."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.schema_choice import ROOT
from tests.benchmarks.tickets import write_artwork
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.spool.places import ShopPlaces

START_S = 30.0
TICKS_A_SECOND = os.sysconf("SC_CLK_TCK")
READY = re.compile(rb'^ready$|"event": "ready"', re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Setting:
    """Where a contestant works: its program, its drop folder, its lanes, and what it keeps on disk."""

    command: list[str]
    drop: Path
    lanes: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Contestant:
    """One of those compared.

    Attributes:
        prepare: Makes its folders in an empty one.
        pace_ms: From one ticket to the next when dropped one by one.
        most_at_once: Tickets in a burst; a slow one is not made to take them all.
    """

    name: str
    prepare: Callable[[Path], Setting]
    pace_ms: int = 20
    most_at_once: int = 100_000


def _bridge(folder: Path) -> Setting:
    """The sample shop, but nobody prints: no limit on the tickets that lie at a press, and rolls without end."""
    copy_sample_shop(folder)
    presses = folder / "presses.yaml"
    text = presses.read_text(encoding="utf-8").replace("ahead: 1", "ahead: 0")
    presses.write_text(re.sub(r"length_left_m: \d+", "length_left_m: 100000", text), encoding="utf-8")
    loaded = load_shop(folder)
    make_folders(loaded)
    places = ShopPlaces(folder)
    drop = places.source(loaded.shop.settings.sources[0].folder).drop
    write_artwork(drop)
    lanes = tuple(places.lane(lane.folder).tickets for _, lane in loaded.shop.lanes().values())
    command = [sys.executable, "-m", "ticketbridge", "run", "--shop", str(folder), "--stop-at-eof"]
    return Setting(command, drop, lanes)


def _reference(variant: str) -> Callable[[Path], Setting]:
    def prepare(folder: Path) -> Setting:
        command = [sys.executable, "-m", "tests.benchmarks.reference", variant, str(folder)]
        return Setting(command, folder / "source" / "drop", (folder / "lane",))

    return prepare


def _naive(variant: str) -> Callable[[Path], Setting]:
    def prepare(folder: Path) -> Setting:
        command = [sys.executable, "-m", "tests.benchmarks.naive", variant, str(folder)]
        return Setting(command, folder / "drop", (folder / "lane",))

    return prepare


BRIDGE = Contestant("bridge", _bridge)
STRICT = Contestant("strict reference", _reference("strict"))
GROUP = Contestant("group reference", _reference("group"))
NAIVE = Contestant("naive: xmlschema, rename", _naive("rename"), most_at_once=100)
COPIER = Contestant("naive: xmlschema, copy", _naive("copy"), pace_ms=30, most_at_once=100)
COPIER_LXML = Contestant("naive: lxml, copy", _naive("lxml"), pace_ms=30)
ALL = (BRIDGE, STRICT, GROUP, NAIVE, COPIER, COPIER_LXML)


class Running:
    """A contestant at work, as a process of its own.

    Args:
        setting: What to start.
        log: Where its output goes.
        under: Words to put before the command, such as those of a tracer.
    """

    def __init__(self, setting: Setting, log: Path, under: Sequence[str] = ()) -> None:
        self._log = log
        start_s = time.monotonic()
        with log.open("wb") as output:
            self._process = subprocess.Popen(
                [*under, *setting.command], stdin=subprocess.PIPE, stdout=output, stderr=output, cwd=ROOT
            )
        while not READY.search(log.read_bytes()):
            if self._process.poll() is not None or time.monotonic() - start_s > START_S:
                self.stop()
                raise RuntimeError(f"{' '.join(setting.command)} did not start: {self.last_words()}")
            time.sleep(0.01)
        self.start_s = time.monotonic() - start_s
        """From start to ready."""

    def processor_s(self) -> float:
        """Processor time so far of all its threads and of its child processes, ours and the kernel's.

        By proc(5): utime and stime, and cutime and cstime of children that have ended.
        """
        fields = [Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in self._family()]
        return sum(int(ticks) for one in fields for ticks in one[11:15]) / TICKS_A_SECOND

    def peak_mib(self) -> float:
        """The most memory that it ever had resident, with that of its child processes now."""
        status = [Path(f"/proc/{pid}/status").read_text() for pid in self._family()]
        return sum(int(one.partition("VmHWM:")[2].split()[0]) for one in status) / 1024

    def _family(self) -> list[int]:
        found = [self._process.pid]
        for pid in found:
            for children in Path(f"/proc/{pid}/task").glob("*/children"):
                found += [int(child) for child in children.read_text().split()]
        return found

    def last_words(self) -> str:
        """The end of its output, for the message when it failed."""
        return self._log.read_bytes()[-2000:].decode(errors="replace")

    def stop(self) -> None:
        """Let it end by itself; it does when its input closes."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        try:
            self._process.wait(START_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
