"""A kill at every single file operation: nothing is printed twice, nothing lost, nothing sent twice."""

import itertools
import json
import os
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.unit.press_sim.conftest import TurnedClock, work_until_idle
from tests.unit.press_sim.tickets import Bench, Job, read, row, values
from ticketbridge.press_sim.clock import seconds_between
from ticketbridge.press_sim.jsonl import Damaged, append, cut_torn_line, rows
from ticketbridge.vocabulary.names import jdf

Work = Callable[..., None]

JOB = Job(pieces=row(3, height_mm=400), amount=3)


class Killed(BaseException):
    """Stands for SIGKILL: nothing in the press may catch it."""


class Killer:
    """Ends the press at its n-th call of fsync, rename or replace, before or after the call is done."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._left = 0
        self._after = False
        self._real = {name: getattr(os, name) for name in ("fsync", "rename", "replace")}
        self._real["fsync"] = lambda _: None
        for name in self._real:
            monkeypatch.setattr(os, name, self._stand_in(name))

    def arm(self, operations: int, *, after: bool) -> None:
        self._left, self._after = operations, after

    def _stand_in(self, name: str) -> Callable[..., None]:
        def call(*arguments: object) -> None:
            self._left -= 1
            if self._left == 0 and not self._after:
                raise Killed
            self._real[name](*arguments)
            if self._left == 0:
                raise Killed

        return call


class Postbox:
    """Fetches every answer at once, as the quickest receiver would, and keeps each with its name."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self.reports: dict[str, set[bytes]] = {}
        self.returned: list[str] = []

    def fetch(self) -> None:
        for path in self._bench.files("status"):
            self.reports.setdefault(path.name, set()).add(path.read_bytes())
            path.unlink()
        for path in self._bench.files("returned"):
            self.returned.append(path.name)
            path.unlink()


@pytest.mark.parametrize("after", [False, True], ids=["before the call", "after the call"])
def test_a_kill_at_any_file_operation_prints_and_answers_everything_once(
    tmp_path: Path, clock: TurnedClock, monkeypatch: pytest.MonkeyPatch, after: bool
) -> None:
    killer = Killer(monkeypatch)
    for operations in itertools.count(1):
        bench = bench_with_work(tmp_path / str(operations))
        postbox = Postbox(bench)
        killer.arm(operations, after=after)
        killed = was_killed(bench, clock)
        postbox.fetch()
        if killed:
            work_until_idle(bench, clock, clock_factor=20)
            postbox.fetch()
        assert_all_once(bench, postbox)
        if not killed:
            assert operations > 50
            return


@pytest.mark.parametrize("seed", range(40))
def test_killed_again_and_again_it_still_prints_and_answers_everything_once(
    tmp_path: Path, clock: TurnedClock, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    chance = random.Random(seed)
    killer = Killer(monkeypatch)
    bench = bench_with_work(tmp_path / "press")
    postbox = Postbox(bench)
    for _ in range(20):
        killer.arm(chance.randint(4, 25), after=chance.random() < 0.5)
        was_killed(bench, clock)
        postbox.fetch()
    killer.arm(0, after=False)
    work_until_idle(bench, clock, clock_factor=20)
    postbox.fetch()
    assert_all_once(bench, postbox)


def bench_with_work(folder: Path) -> Bench:
    folder.mkdir()
    bench = Bench(folder)
    bench.deliver(JOB, name="1.jdf")
    bench.deliver(replace(JOB, device_id="HL-P9-Z"), name="2.jdf")
    os.utime(folder / "lanes/A/in/1.jdf", (1, 1))
    return bench


def was_killed(bench: Bench, clock: TurnedClock) -> bool:
    try:
        work_until_idle(bench, clock, clock_factor=20)
    except Killed:
        return True
    return False


def assert_all_once(bench: Bench, postbox: Postbox) -> None:
    assert sorted(entry["index"] for entry in bench.log()) == [0, 1, 2]
    serials = {entry["serial"] for entry in bench.log()}
    assert len(serials) == 1
    assert len(postbox.returned) == 2
    assert len(set(postbox.returned)) == 2
    assert all(len(contents) == 1 for contents in postbox.reports.values())
    types = [content.split(b'Type="')[1].split(b'"')[0] for [content] in postbox.reports.values()]
    assert types.count(b"Notification") == 1
    assert types.count(b"Resource") == 1
    assert types.count(b"Status") >= 5


def test_after_a_kill_the_standstill_is_a_phase_of_its_own(
    bench: Bench, work: Work, clock: TurnedClock
) -> None:
    bench.deliver(JOB)
    with pytest.raises(Killed):
        work_and_die_in_the_middle(work, clock)
    clock.seconds += 600
    work(clock_factor=20)
    [root] = bench.returned()
    phases = list(root.iter(jdf("PhaseTime")))
    assert values(phases, "Status") == ["Setup", "InProgress", "Stopped", "InProgress", "Cleanup"]
    assert values(phases, "End")[:-1] == values(phases, "Start")[1:]
    pieces = [link.get("ActualAmount") for phase in phases for link in phase.iter(jdf("ComponentLink"))]
    assert sum(int(amount) for amount in pieces if amount) == 3
    duration = root.find(f".//{jdf('ProcessRun')}").get("Duration")
    assert float(duration.removeprefix("PT").removesuffix("S")) < 600


def test_after_a_kill_only_the_rest_is_printed_and_only_the_rest_is_told(
    bench: Bench, work: Work, clock: TurnedClock
) -> None:
    bench.deliver(JOB)
    with pytest.raises(Killed):
        work_and_die_in_the_middle(work, clock)
    told_before = {path.name for path in bench.files("status")}
    assert len(bench.log()) == 1
    for path in bench.files("status"):
        path.unlink()
    work(clock_factor=20)
    assert not told_before & {path.name for path in bench.files("status")}
    again = list(bench.returned()[0].iter(jdf("PhaseTime")))[3].get("Start")
    end = bench.log()[-1]["at"]
    # Two more pieces of 410 mm with their gaps: 820 mm in steps of 9 mm, (300 + 1600) / 1200 + 0.3 s each
    assert seconds_between(again, end) == pytest.approx(820 / 9 * (1900 / 1200 + 0.3) / 20, abs=0.5)


def work_and_die_in_the_middle(work: Work, clock: TurnedClock) -> None:
    deadline_s = clock.seconds + 6

    class Mortal(type(clock)):  # type: ignore[misc]
        def steady_s(self) -> float:
            if self.seconds > deadline_s:
                raise Killed
            return float(self.seconds)

    real, clock.__class__ = clock.__class__, Mortal
    try:
        work(clock_factor=20)
    finally:
        clock.__class__ = real


def test_a_line_torn_by_a_kill_is_cut_off_and_printed_again(bench: Bench, work: Work) -> None:
    bench.deliver(JOB)
    work()
    log = bench.folder / "print-log.jsonl"
    whole = log.read_bytes()
    undo_the_end(bench)
    log.write_bytes(whole[: whole.rindex(b'"at"')])
    work()
    assert [entry["index"] for entry in bench.log()] == [0, 1, 2]


def undo_the_end(bench: Bench) -> None:
    """Put the finished job back to where it was before its last piece."""
    done = bench.folder / "state/done/HL-P1-00000001.jdf"
    os.rename(done, bench.folder / "state/taken/HL-P1-A/HL-P1-00000001.jdf")
    record = bench.folder / "state/jobs/HL-P1-00000001.jsonl"
    lines = record.read_text().splitlines(keepends=True)
    kept = [
        line
        for line in lines
        if "Cleanup" not in line and "Completed" not in line and "returning" not in line
    ]
    record.write_text("".join(line for line in kept if json.loads(line).get("reported", 0) < 5))


def test_only_what_follows_the_last_newline_is_torn(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    append(path, [{"n": 1}, {"n": 2}])
    for tail in (b"", b"{", b'{"n": 3}', b"\xff\x00"):
        path.write_bytes(b'{"n": 1}\n{"n": 2}\n' + tail)
        cut_torn_line(path)
        assert list(rows(path)) == [{"n": 1}, {"n": 2}]


def test_a_whole_line_that_is_not_json_is_told_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    path.write_bytes(b'{"n": 1}\n\0\0\0\n')
    with pytest.raises(Damaged, match=r"log\.jsonl:2: not a JSON object"):
        list(rows(path))


def test_a_clock_set_back_brings_no_phase_that_ends_before_it_began(
    bench: Bench, work: Work, clock: TurnedClock
) -> None:
    bench.deliver(JOB)
    with pytest.raises(Killed):
        work_and_die_in_the_middle(work, clock)
    clock.seconds -= 500
    work(clock_factor=20)
    phases = list(bench.returned()[0].iter(jdf("PhaseTime")))
    assert all(phase.get("Start") <= phase.get("End") for phase in phases)
    assert [read(path).get("TimeStamp") for path in bench.files("status")] == sorted(
        read(path).get("TimeStamp") for path in bench.files("status")
    )
