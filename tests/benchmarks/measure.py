"""One contestant, one start: a few tickets to warm up, then one by one, then all at once."""

import json
import math
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from tests.benchmarks.arrivals import Arrivals
from tests.benchmarks.contestants import Contestant, Running
from tests.benchmarks.probe import fdatasync_ms
from tests.benchmarks.schema_choice import ROOT
from tests.benchmarks.tickets import write_tickets

WARM_UP = 10
LIMIT_S = 60.0
SLOWEST = 50
"""Tickets a second: who is slower is not waited for."""
AFTERWARDS_S = 0.5
"""So long the processor is still counted after the last ticket: files are moved out, messages sent."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One round of one contestant. Times of a ticket are from just before its drop to its arrival in a lane."""

    probe_ms: float
    p50_ms: float
    p99_ms: float
    paced_processor_ms: float
    tickets_a_second: float
    burst_processor_ms: float
    peak_mib: float
    start_s: float


class Course:
    """Drops tickets at a running contestant and sees them arrive. Order numbers go on from drop to drop."""

    def __init__(self, running: Running, drop: Path, lanes: Sequence[Path], spare: Path) -> None:
        self._running = running
        self._drop = drop
        self._spare = spare
        self._next = 1
        self._arrivals = Arrivals(lanes)

    def pass_through(self, count: int, pace_ms: int) -> list[tuple[float, float]]:
        """Drop so many, wait for all of them; the moments of drop and arrival of each, in seconds."""
        prepared = self._spare / f"from-{self._next}"
        write_tickets(prepared, self._next, count)
        self._next += count
        os.sync()
        before = set(self._arrivals.seen_s)
        command = [
            sys.executable,
            "-m",
            "tests.benchmarks.drop",
            str(prepared),
            str(self._drop),
            str(pace_ms),
        ]
        with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT) as producer:
            try:
                self._arrivals.wait_for(count, LIMIT_S + count * pace_ms / 1000 + count / SLOWEST)
            except TimeoutError as error:
                raise RuntimeError(f"{error}. {self._running.last_words()}") from error
            dropped_s = {order_of(name): at_s for name, at_s in json.loads(producer.communicate()[0]).items()}
        arrived_s = {
            order_of(etree.parse(str(path)).getroot().get("JobID", "")): at_s
            for path, at_s in self._arrivals.seen_s.items()
            if path not in before
        }
        return [(dropped_s[number], arrived_s[number]) for number in dropped_s]

    def close(self) -> None:
        self._arrivals.close()


def order_of(name: str) -> int:
    """The order number in a file name or a JobID."""
    return int("".join(letter for letter in name if letter.isdigit()))


def measure(contestant: Contestant, folder: Path, paced: int, at_once: int) -> Measured:
    """One round in a fresh folder."""
    home = folder / "home"
    home.mkdir(parents=True)
    setting = contestant.prepare(home)
    running = Running(setting, folder / "log")
    try:
        course = Course(running, setting.drop, setting.lanes, folder)
        course.pass_through(WARM_UP, contestant.pace_ms)
        probe_ms = fdatasync_ms(folder)
        start_s = running.processor_s()
        delays_ms = sorted(
            1000 * (to - from_) for from_, to in course.pass_through(paced, contestant.pace_ms)
        )
        time.sleep(AFTERWARDS_S)
        between_s = running.processor_s()
        burst = min(at_once, contestant.most_at_once)
        moments = course.pass_through(burst, 0)
        time.sleep(AFTERWARDS_S)
        end_s = running.processor_s()
        course.close()
        return Measured(
            probe_ms,
            statistics.median(delays_ms),
            delays_ms[math.ceil(0.99 * len(delays_ms)) - 1],
            1000 * (between_s - start_s) / paced,
            burst / (max(to for _, to in moments) - min(from_ for from_, _ in moments)),
            1000 * (end_s - between_s) / burst,
            running.peak_mib(),
            running.start_s,
        )
    finally:
        running.stop()
