"""Who has made progress lately, and who has not."""

import time
from collections.abc import Callable
from pathlib import Path
from queue import Queue

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.accept import watch
from ticketbridge.accept.claim import Claimed
from ticketbridge.daemon import clock, intake_loop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.intake_loop import IntakeLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.demo.orders import ticket
from ticketbridge.model.shop import Limits, Source, Watch

LIMIT_S = 60.0


class Clock:
    """Stands where it is put."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def now() -> Clock:
    return Clock()


@pytest.fixture
def heartbeats(now: Clock) -> Heartbeats:
    return Heartbeats(now, LIMIT_S)


def test_at_first_nobody_is_late(heartbeats: Heartbeats) -> None:
    assert heartbeats.late() == []


def test_a_loop_that_beat_within_the_limit_is_not_late(heartbeats: Heartbeats, now: Clock) -> None:
    heartbeats.beat("flow")
    now.now_s += LIMIT_S

    assert heartbeats.late() == []


def test_a_loop_that_has_not_ended_a_turn_for_longer_is_late(heartbeats: Heartbeats, now: Clock) -> None:
    heartbeats.beat("flow")
    now.now_s += LIMIT_S + 0.001

    assert heartbeats.late() == ["flow"]


def test_one_hung_loop_is_named_although_the_others_go_on(heartbeats: Heartbeats, now: Clock) -> None:
    for loop in ("flow", "lane HL-P1-A", "intake mis"):
        heartbeats.beat(loop)
    for _ in range(3):
        now.now_s += LIMIT_S / 2
        heartbeats.beat("flow")
        heartbeats.beat("intake mis")

    assert heartbeats.late() == ["lane HL-P1-A"]


def test_a_loop_that_beats_again_is_well_again(heartbeats: Heartbeats, now: Clock) -> None:
    heartbeats.beat("flow")
    now.now_s += 10 * LIMIT_S
    assert heartbeats.late() == ["flow"]

    heartbeats.beat("flow")

    assert heartbeats.late() == []


@given(ages_s=st.dictionaries(st.sampled_from("abcdef"), st.floats(0, 3 * LIMIT_S)))
def test_exactly_those_are_late_whose_last_beat_is_older_than_the_limit(ages_s: dict[str, float]) -> None:
    now = Clock()
    heartbeats = Heartbeats(now, LIMIT_S)
    end_s = now.now_s + 3 * LIMIT_S
    for loop, age_s in ages_s.items():
        for now.now_s in (1000.0, end_s - age_s):  # an older beat does not count
            heartbeats.beat(loop)
    now.now_s = end_s

    too_old = [loop for loop, age_s in ages_s.items() if end_s - (end_s - age_s) > LIMIT_S]
    assert heartbeats.late() == sorted(too_old)


class Watching:
    """An intake loop over a shop's one source, and the heartbeats that it beats into."""

    def __init__(self, bench: Bench, scan_s: float, room: int) -> None:
        self.heartbeats = Heartbeats(clock.monotonic, limit_s=1.0)
        self.inbox: Queue[Claimed] = Queue(maxsize=room)
        source = Source(id="mis", folder="hotfolders/mis", mapping="mis", watch=Watch(scan_s=scan_s))
        self.loop = IntakeLoop(
            source, bench.source, Limits(), self.inbox, lambda: None, Notices(), self.heartbeats
        )

    def always_beats(self, during_s: float) -> bool:
        until_s = time.monotonic() + during_s
        while time.monotonic() < until_s:
            if self.heartbeats.late():
                return False
            time.sleep(0.05)
        return True


@pytest.fixture
def watching(tmp_path: Path) -> "Callable[..., Watching]":
    return lambda **options: Watching(Bench(tmp_path / "shop"), **options)


def test_a_drop_folder_that_is_looked_at_once_an_hour_is_not_taken_for_a_hung_loop(
    watching: Callable[..., Watching], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watch, "LONGEST_WAIT_S", 0.1)
    intake = watching(scan_s=3600, room=10)
    intake.heartbeats.beat(intake.loop.name)
    intake.loop.start()

    assert intake.always_beats(during_s=2.5)
    intake.loop.stop()
    intake.loop.join(5)


def test_an_intake_that_finds_no_room_in_the_flow_s_inbox_waits_and_is_not_hung(
    tmp_path: Path, watching: Callable[..., Watching], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intake_loop, "HAND_ON_S", 0.1)
    intake = watching(scan_s=0.2, room=1)
    source = tmp_path / "shop" / "hotfolders" / "mis"
    intake.heartbeats.beat(intake.loop.name)
    intake.loop.start()
    for name in ("a.jdf", "b.jdf", "c.jdf"):
        (source / "status" / name).write_bytes(ticket(BANNER))
        (source / "status" / name).rename(source / "drop" / name)
    while len(list(source.joinpath("claimed").glob("*~*.jdf"))) < 2:  # one in the inbox, one in the hand
        time.sleep(0.02)

    assert intake.always_beats(during_s=2.5)
    handed_on = {intake.inbox.get(timeout=5).original_name for _ in range(3)}
    assert handed_on == {"a.jdf", "b.jdf", "c.jdf"}
    intake.loop.stop()
    intake.loop.join(5)
    assert not intake.loop.is_alive()
