"""The simulated press as a program: killed, locked out, stopped, and two lanes in real time."""

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from tests.unit.press_sim.tickets import Bench, Job, row, values
from ticketbridge.vocabulary.names import jdf

pytestmark = pytest.mark.processes

PROGRAM = [sys.executable, "-c", "from ticketbridge.cli.press_sim import press_sim; press_sim()"]
PATIENCE_S = 20


def start(bench: Bench, *options: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*PROGRAM, str(bench.folder), *options],
        stdin=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def run(bench: Bench, *options: str) -> None:
    press = start(bench, *options)
    _, errors = press.communicate(timeout=PATIENCE_S)
    assert (press.returncode, errors) == (0, "")


def wait_until(condition: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < deadline, f"waited in vain until {what}"
        time.sleep(0.01)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


class Receiver:
    """Fetches answers while the press works and between its lives."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self.reports: dict[str, set[bytes]] = {}
        self.returned: Counter[str] = Counter()

    def fetch(self) -> None:
        for lane in "AB":
            for path in self._bench.files("status", lane):
                self.reports.setdefault(path.name, set()).add(path.read_bytes())
                path.unlink()
            for path in self._bench.files("returned", lane):
                self.returned[path.name] += 1
                path.unlink()


@pytest.mark.kill
@pytest.mark.parametrize("seed", [1, 7, 23, 118, 4096])
def test_killed_at_random_moments_everything_is_printed_and_returned_exactly_once(
    bench: Bench, seed: int
) -> None:
    chance = random.Random(seed)
    pieces = row(12, height_mm=100)
    for _ in range(3):
        bench.deliver(Job(pieces=pieces, amount=12), lane="A")
        bench.deliver(Job(pieces=pieces, amount=12, device_id="HL-P1-B"), lane="B")
    for lane in "AB":
        for kind in ("status", "returned"):
            (bench.folder / "lanes" / lane / kind).mkdir()
    receiver = Receiver(bench)
    for _ in range(6):
        press = start(bench, "--clock-factor", "900")
        began = len(bench.log())
        wait_until(lambda now=began: len(bench.log()) > now or len(bench.log()) == 72, "the press prints")
        time.sleep(chance.uniform(0, 0.08))
        press.kill()
        press.communicate()
        if chance.random() < 0.7:
            receiver.fetch()
    run(bench, "--clock-factor", "0", "--until-idle", "0.2")
    receiver.fetch()
    printed = Counter((entry["serial"], entry["index"]) for entry in bench.log())
    assert set(printed.values()) == {1}
    assert Counter(serial for serial, _ in printed) == {f"HL-P1-{n:08d}": 12 for n in range(1, 7)}
    assert receiver.returned == {f"HL-P1-{n:08d}.jdf": 1 for n in range(1, 7)}
    assert all(len(contents) == 1 for contents in receiver.reports.values())


def test_two_presses_cannot_work_on_one_folder(bench: Bench) -> None:
    first = start(bench)
    try:
        wait_until((bench.folder / "state/taken/HL-P1-B").exists, "the first press is at work")
        second = start(bench)
        _, errors = second.communicate(timeout=PATIENCE_S)
        assert second.returncode == 3
        assert "another simulated press works on this folder" in errors
    finally:
        first.kill()
        first.communicate()
    run(bench, "--until-idle", "0")


def test_a_press_without_its_settings_says_so(bench: Bench) -> None:
    (bench.folder / "press.yaml").unlink()
    press = start(bench)
    _, errors = press.communicate(timeout=PATIENCE_S)
    assert press.returncode == 2
    assert "press.yaml is not there" in errors


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_told_to_stop_it_stops_and_goes_on_later(bench: Bench, number: int) -> None:
    bench.deliver(Job(pieces=row(10), amount=10))
    press = start(bench, "--clock-factor", "300")
    wait_until(lambda: len(bench.log()) >= 2, "two pieces are printed")
    press.send_signal(number)
    _, errors = press.communicate(timeout=PATIENCE_S)
    assert (press.returncode, errors) == (0, "")
    assert 2 <= len(bench.log()) < 10
    run(bench, "--clock-factor", "0", "--until-idle", "0.1")
    assert [entry["index"] for entry in bench.log()] == list(range(10))
    assert len(bench.returned()) == 1


def test_it_stops_when_standard_input_closes(bench: Bench) -> None:
    press = start(bench, "--stop-at-eof")
    wait_until((bench.folder / "state/taken/HL-P1-B").exists, "the press is at work")
    assert press.poll() is None
    _, errors = press.communicate(timeout=PATIENCE_S)
    assert (press.returncode, errors) == (0, "")


def test_without_work_it_ends_after_the_time_given(bench: Bench) -> None:
    began = time.monotonic()
    run(bench, "--until-idle", "0.5")
    assert time.monotonic() - began >= 0.5


def test_a_ticket_is_taken_at_once_even_while_the_press_is_busy(bench: Bench) -> None:
    bench.deliver(Job(pieces=row(20), amount=20))
    press = start(bench, "--clock-factor", "10")
    try:
        wait_until(lambda: not bench.files("in"), "the first ticket is taken")
        bench.deliver(Job(passes="8"))
        delivered = time.monotonic()
        wait_until(lambda: not bench.files("in"), "the second ticket is taken")
        assert time.monotonic() - delivered < 1
        assert len({entry["serial"] for entry in bench.log()}) <= 1
    finally:
        press.kill()
        press.communicate()


def print_times(bench: Bench, lane: str) -> tuple[str, str]:
    times = [entry["at"] for entry in bench.log() if entry["device_id"] == f"HL-P1-{lane}"]
    return min(times), max(times)


@pytest.mark.parametrize(("passes", "side_by_side"), [("6", True), ("8", False)])
def test_lanes_share_the_carriage_in_real_time_where_their_modes_agree(
    bench: Bench, passes: str, side_by_side: bool
) -> None:
    bench.deliver(Job(pieces=row(6), amount=6), lane="A")
    bench.deliver(Job(pieces=row(6), amount=6, device_id="HL-P1-B", passes=passes), lane="B")
    run(bench, "--clock-factor", "600", "--until-idle", "0.2")
    a, b = print_times(bench, "A"), print_times(bench, "B")
    assert (b[0] < a[1]) is side_by_side
    assert set(values(bench.phases("B"), "Status")) == {"Setup", "InProgress", "Completed"}


def test_real_time_is_the_time_of_the_model_divided_by_the_factor(bench: Bench) -> None:
    bench.deliver(Job(pieces=row(4), amount=4))
    run(bench, "--clock-factor", "400", "--until-idle", "0.1")
    phases = {phase.get("Status"): phase for phase in bench.returned()[0].iter(jdf("PhaseTime"))}
    start_at, end_at = phases["InProgress"].get("Start"), phases["InProgress"].get("End")
    # 4 x 200 mm and 3 gaps of 10 mm, plus 54 mm of head, in steps of 9 mm of (300 + 1600) / 1200 + 0.3 s
    expected_s = 99 * (1900 / 1200 + 0.3) / 400
    assert seconds(start_at, end_at) == pytest.approx(expected_s, rel=0.5, abs=0.1)


def seconds(start_at: str | None, end_at: str | None) -> float:
    assert start_at
    assert end_at
    return (datetime.fromisoformat(end_at) - datetime.fromisoformat(start_at)).total_seconds()


def test_another_file_system_is_refused_by_name(bench: Bench, tmp_path: Path) -> None:
    elsewhere = Path("/dev/shm")
    if not elsewhere.is_dir() or elsewhere.stat().st_dev == tmp_path.stat().st_dev:
        pytest.skip("this machine has no second file system to try it with")
    drop = elsewhere / f"press-sim-{os.getpid()}"
    drop.mkdir()
    try:
        settings = bench.folder / "press.yaml"
        settings.write_text(settings.read_text().replace("lanes/A/in", str(drop)))
        press = start(bench)
        _, errors = press.communicate(timeout=PATIENCE_S)
        assert press.returncode == 2
        assert "on different file systems" in errors
    finally:
        drop.rmdir()
