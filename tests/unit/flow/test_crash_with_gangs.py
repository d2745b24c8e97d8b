"""A crash at every single step of a gang run: it is handed over once, and each member is returned once."""

from collections import Counter
from pathlib import Path

import pytest

from tests.unit.flow.bench import Bench, press_returns
from tests.unit.flow.test_crash_at_every_step import Fuse, accept_all, play
from tests.unit.flow.test_gangs import FIRST, LANE, SECOND, allow_gangs
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.model.job_states import State

TAKING_IN, FOLLOWING = 24, 26
"""Steps that are tried; the last test says whether they are enough."""


def act(bench: Bench, bridge: Bridge) -> None:
    accept_all(bench)(bridge)
    release_waiting(bridge)


def look(bench: Bench, bridge: Bridge) -> None:
    for path in sorted(bench.lane(LANE).returned.glob("*.jdf")):
        follow(bridge, PressFile(LANE, path, path.read_bytes(), lambda _: None))


def two_dropped(tmp_path: Path) -> Bench:
    bench = allow_gangs(Bench(tmp_path / "shop"))
    for order in (FIRST, SECOND):
        bench.drop(order)
    return bench


@pytest.mark.parametrize("first", range(TAKING_IN))
def test_after_a_crash_at_any_step_each_job_is_at_its_lane_once_alone_or_in_one_gang(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = two_dropped(tmp_path)

    play(bench, Fuse(first), monkeypatch, lambda bridge: act(bench, bridge))
    play(bench, Fuse(first // 2 + 3), monkeypatch, lambda bridge: act(bench, bridge))
    play(bench, None, monkeypatch, lambda bridge: act(bench, bridge))

    with bench.start().store.transaction() as tx:
        jobs = tx.all_jobs()
        gangs = {job.queue_entry_id: tx.gang_of(job.queue_entry_id) for job in jobs}
        states = {job.queue_entry_id: tx.delivery(job.queue_entry_id) for job in jobs if job.given}
    assert sorted(job.job_id for job in jobs) == ["HL-1", "HL-2"]
    carried = Counter(f"{gangs[name] or name}.jdf" for name in states)
    written = [path.name for path in bench.lane(LANE).tickets.glob("[QG]*.jdf")]
    assert sorted(written) == sorted(carried)
    assert all(delivery is not None and delivery.delivered for delivery in states.values())
    assert list(bench.lane(LANE).tickets.glob(".ticketbridge-*.tmp")) == []
    assert all(count == 2 for name, count in carried.items() if name.startswith("G"))


@pytest.mark.parametrize("first", range(FOLLOWING))
def test_after_a_crash_at_any_step_of_following_each_member_ends_once_and_is_told_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = two_dropped(tmp_path)
    play(bench, None, monkeypatch, accept_all(bench))
    lane = bench.lane(LANE)
    [written] = lane.tickets.glob("*.jdf")
    (lane.returned / "P1-000001.jdf").write_bytes(press_returns(written.read_bytes()))

    play(bench, Fuse(first), monkeypatch, lambda bridge: look(bench, bridge))
    play(bench, None, monkeypatch, lambda bridge: look(bench, bridge))

    bridge = bench.start()
    with bridge.store.transaction() as tx:
        assert [job.state for job in tx.all_jobs()] == [State.COMPLETED] * 2
        used_m = sum(job.roll_length_mm for job in tx.all_jobs()) / 1000
        assert tx.rolls()[LANE].length_left_m == pytest.approx(50 - used_m)
    assert bench.signals(bridge).count("ReturnQueueEntry") == 2
    assert bench.files(bench.source.returned) == ["Q000001.jdf", "Q000002.jdf"]
    assert bench.files(lane.returned) == []


def test_the_fuses_of_these_tests_reach_to_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = two_dropped(tmp_path)
    fuse = Fuse(10_000)
    play(bench, fuse, monkeypatch, lambda bridge: act(bench, bridge))
    assert 15 < fuse.touched <= TAKING_IN
    lane = bench.lane(LANE)
    [written] = lane.tickets.glob("*.jdf")
    (lane.returned / "P1-000001.jdf").write_bytes(press_returns(written.read_bytes()))
    fuse = Fuse(10_000)
    play(bench, fuse, monkeypatch, lambda bridge: look(bench, bridge))
    assert 15 < fuse.touched <= FOLLOWING
