"""A whole simulated press beside the bridge: what it suffers, the MIS hears of."""

import threading
from pathlib import Path

import pytest
from lxml import etree
from sqlalchemy.exc import OperationalError

from tests.unit.flow.bench import BANNER, Bench, status_jmf
from tests.unit.press_sim.conftest import TurnedClock
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.press import following
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.model.job_states import State
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.settings import read_settings
from ticketbridge.press_sim.simulator import Simulator
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


class Press:
    """Press 1 of the sample shop, as a program would run it."""

    def __init__(self, bench: Bench) -> None:
        self.folder = bench.folder / "simulated-press" / "P1"
        self.clock = TurnedClock()
        (self.folder / "control" / LANE).mkdir(parents=True)

    def change(self, old: str, new: str) -> None:
        """Other settings."""
        settings = self.folder / "press.yaml"
        assert settings.read_text().count(old) == 1
        settings.write_text(settings.read_text().replace(old, new))

    def work(self, seconds: float) -> None:
        """Start, work for some real seconds, stop."""
        clock, over = self.clock, self.clock.seconds + seconds

        class Stop(threading.Event):
            def is_set(self) -> bool:
                return clock.seconds > over

        press = read_settings(self.folder)
        with Places(self.folder, press) as places:
            Simulator(press, places, clock, 60).work(Stop())


def follow_all(bench: Bench, bridge: Bridge) -> None:
    lane = bench.lane(LANE)
    for path in [*sorted(lane.status.glob("*.jmf")), *sorted(lane.returned.glob("*.jdf"))]:
        follow(bridge, PressFile(LANE, path, path.read_bytes(), lambda _: None))


def phases(bridge: Bridge) -> list[tuple[str | None, ...]]:
    with bridge.store.transaction() as tx:
        bodies = [message.body for message in tx.unsent("mis.folder", 0, 1000)]
    names = ("Status", "StatusDetails", "Amount", "Waste")
    return [
        tuple(phase.get(name) for name in names)
        for body in bodies
        for phase in etree.fromstring(body).iter(jdf("JobPhase"))
    ]


@pytest.mark.parametrize(
    ("fault", "well"),
    [(OperationalError("INSERT", {}, Exception("away")), False), (ValueError("a fault of ours"), True)],
    ids=["of the world", "of ours"],
)
def test_after_a_fault_of_the_world_alone_a_signal_comes_again_before_what_is_behind_it(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, fault: Exception, well: bool
) -> None:
    bridge, told = bench.restart(), list[bool]()
    path = bench.lane(LANE).status / "P1-000001.jmf"
    path.write_bytes(status_jmf(LANE, ("HL-1", "1.Q000001"), "Setup", 0, 2, "S1"))

    def fails(*_: object) -> None:
        raise fault

    monkeypatch.setattr(following, "read_signals", fails)
    with pytest.raises(type(fault)):
        follow(bridge, PressFile(LANE, path, path.read_bytes(), told.append))

    assert told == [well]
    assert path.exists()


def test_a_jam_is_a_stopped_job_that_still_runs_and_its_waste_reaches_the_mis(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    press.change("jam_s: 30\n", "jam_s: 100000\n")
    (press.folder / "control" / "jam").touch()
    press.work(30)
    follow_all(bench, bridge)

    assert phases(bridge)[-1] == ("Stopped", "PaperJam", "0", "1")
    assert "Notification MediaJam" in bench.signals(bridge)
    with bridge.store.transaction() as tx:
        standing = tx.standing("Q000001")
    assert (standing.state, standing.phase, standing.waste) == (State.RUNNING, "Stopped", 1)


def test_after_a_jam_the_job_goes_on_and_ends_with_its_waste_counted(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    (press.folder / "control" / "jam").touch()
    press.work(600)
    follow_all(bench, bridge)

    assert phases(bridge)[-1] == ("Completed", "JobCompletedSuccessfully", "3", "1")
    with bridge.store.transaction() as tx:
        standing = tx.standing("Q000001")
    assert (standing.state, standing.amount, standing.waste) == (State.COMPLETED, 3, 1)
    assert bench.notices == []


def test_a_roll_that_ends_is_a_wait_until_the_operator_has_loaded_another(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        layout = tx.job("Q000001").layout
    # Long enough for the leader and the first row only.
    length_mm = layout.leader_mm + layout.placements[0].height_mm + 50
    lane = f"  - device_id: {LANE}\n"
    press.change(lane, f"{lane}    roll_length_mm: {length_mm}\n")
    press.change("roll_change_s: 600\n", "")
    press.work(600)
    follow_all(bench, bridge)
    assert phases(bridge)[-1][:2] == ("Stopped", "MissResources")
    assert "Notification MediaOut" in bench.signals(bridge)

    while phases(bridge)[-1][:2] != ("Completed", "JobCompletedSuccessfully"):
        (press.folder / "control" / LANE / "roll-loaded").touch()
        press.work(600)
        follow_all(bench, bridge)

    with bridge.store.transaction() as tx:
        assert tx.standing("Q000001").state is State.COMPLETED
    assert bench.notices == []
