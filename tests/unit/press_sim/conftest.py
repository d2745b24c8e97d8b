"""A press to try, a clock that the test turns, and the official schemas."""

import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.unit.press_sim.tickets import Bench, script
from ticketbridge.press_sim.clock import SLICE_S, Clock
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.settings import read_settings
from ticketbridge.press_sim.simulator import Simulator


class TurnedClock(Clock):
    """Stands still but for the waiting of the press."""

    def __init__(self) -> None:
        self.seconds = 1000.0

    def timestamp(self) -> str:
        moment = datetime(2026, 3, 3, 7, 0, tzinfo=UTC) + timedelta(seconds=self.seconds)
        return moment.isoformat(timespec="milliseconds")

    def steady_s(self) -> float:
        return self.seconds

    def wait(self, stop: threading.Event, seconds: float) -> None:  # noqa: ARG002
        self.seconds += min(max(seconds, 1e-4), SLICE_S)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A press with two lanes."""
    return Bench(tmp_path)


@pytest.fixture
def clock() -> TurnedClock:
    return TurnedClock()


@pytest.fixture
def work(bench: Bench, clock: TurnedClock) -> Callable[..., None]:
    """Let a press work until it has had nothing to do for a second."""

    def run(clock_factor: float = 60, until_idle_s: float = 1) -> None:
        work_until_idle(bench, clock, clock_factor, until_idle_s)

    return run


def work_until_idle(bench: Bench, clock: Clock, clock_factor: float = 60, until_idle_s: float = 1) -> None:
    """Let a press work until it has had nothing to do for so long."""
    press = read_settings(bench.folder)
    with Places(bench.folder, press) as places:
        Simulator(press, places, clock, clock_factor).work(threading.Event(), until_idle_s)


@pytest.fixture(scope="session")
def problems(shared: Path) -> Callable[[Path], list[str]]:
    """What the official schemas, and the look-up of references, hold against a file."""
    module = script(shared, "validate")
    return lambda path: list(module.problems(path, refs=True))


@pytest.fixture(scope="session")
def schema_notes(shared: Path) -> Iterator[Any]:
    """The official schemas with their version notes: ``members(element)["dates"]["@attribute"]``."""
    module = script(shared, "check_facts")
    return module.Schema(sorted((shared / "standards" / "jdf").glob("*.xsd")))
