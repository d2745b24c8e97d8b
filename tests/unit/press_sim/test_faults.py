"""Jams and rolls that end: what the press says, what it spoils, and that a kill changes nothing of it."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.unit.press_sim.conftest import TurnedClock, work_until_idle
from tests.unit.press_sim.test_crash import Killed, Killer, Postbox
from tests.unit.press_sim.tickets import PRESS_YAML, Bench, Job, row, values
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.settings import read_settings
from ticketbridge.press_sim.simulator import Simulator
from ticketbridge.vocabulary.names import jdf

Work = Callable[..., None]
Problems = Callable[[Path], list[str]]

JOB = Job(pieces=row(4, height_mm=400), amount=4)
"""Four pieces of 400 mm, 410 mm apart, behind a leader of 500 mm and before a trailer of 400 mm."""


def with_rolls(length_mm: float, change_s: float | None = 20) -> str:
    """A press whose lane A has rolls of that length."""
    lane = "    left_mm: 0\n"
    text = PRESS_YAML.replace(lane, f"{lane}    roll_length_mm: {length_mm}\n", 1)
    return text if change_s is None else f"{text}roll_change_s: {change_s}\n"


def wish(bench: Bench, name: str) -> None:
    path = bench.folder / "control" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch()


def said(bench: Bench, lane: str = "A") -> list[tuple[str | None, ...]]:
    return [
        tuple(phase.get(name) for name in ("Status", "StatusDetails", "Amount", "Waste"))
        for phase in bench.phases(lane)
    ]


def notices(bench: Bench, lane: str = "A") -> list[str | None]:
    return [event.get("EventID") for signal in bench.signals(lane) for event in signal.iter(jdf("Event"))]


def media_m2(bench: Bench) -> dict[str | None, float]:
    [signal] = [signal for signal in bench.signals() if signal.get("Type") == "Resource"]
    return {
        amount[0].get("Condition"): float(amount.get("ActualAmount"))
        for amount in signal.iter(jdf("PartAmount"))
    }


def test_a_jam_stops_the_job_spoils_a_piece_and_prints_it_again(bench: Bench, work: Work) -> None:
    bench.deliver(JOB)
    wish(bench, "jam")
    work()

    assert said(bench) == [
        ("Setup", "SizeChange", "0", "0"),
        ("InProgress", "Good", "0", "0"),
        ("Stopped", "PaperJam", "0", "1"),
        ("InProgress", "Good", "0", "1"),
        *((("InProgress", "Good", str(n), "1")) for n in range(1, 5) if (str(n)) in reported(bench)),
        ("Completed", "JobCompletedSuccessfully", "4", "1"),
    ]
    assert notices(bench) == ["MediaJam"]
    assert sorted(entry["index"] for entry in bench.log()) == [0, 1, 2, 3]


def reported(bench: Bench) -> set[str | None]:
    """Amounts in reports of progress; the press leaves some out so that it floods nobody."""
    return {amount for status, _, amount, _ in said(bench) if status == "InProgress"}


def test_a_stopped_press_says_so_of_itself_too(bench: Bench, work: Work) -> None:
    bench.deliver(JOB)
    wish(bench, "jam")
    work()

    stopped = [
        device.get("StatusDetails")
        for signal in bench.signals()
        for device in signal.iter(jdf("DeviceInfo"))
        if device.get("DeviceStatus") == "Stopped"
    ]
    assert stopped == ["PaperJam"]


def test_the_returned_ticket_tells_of_the_jam_the_waste_and_the_operator(bench: Bench, work: Work) -> None:
    bench.deliver(JOB)
    wish(bench, "jam")
    work()

    [root] = bench.returned()
    phases = list(root.iter(jdf("PhaseTime")))
    assert list(zip(values(phases, "Status"), values(phases, "StatusDetails"), strict=True)) == [
        ("Setup", "SizeChange"),
        ("InProgress", "Good"),
        ("Stopped", "PaperJam"),
        ("InProgress", "Good"),
        ("Cleanup", None),
    ]
    [link] = root.findall(f"{jdf('ResourceLinkPool')}/{jdf('ComponentLink')}")
    amounts = {part.getparent().get("ActualAmount"): part.get("Condition") for part in link.iter(jdf("Part"))}
    assert amounts == {"4": "Good", "1": "Waste"}
    assert [employee.get("PersonalID") for employee in root.iter(jdf("Employee"))] == ["op-07"]


def test_a_jam_lasts_as_long_as_the_press_says(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(f"{PRESS_YAML}jam_s: 90\n")
    bench.deliver(JOB)
    wish(bench, "jam")
    work(clock_factor=10)

    assert standstill_s(bench) == pytest.approx(9, abs=0.2)


def standstill_s(bench: Bench) -> float:
    from tests.unit.press_sim.test_simulator import seconds

    [stopped] = [p for p in bench.returned()[0].iter(jdf("PhaseTime")) if p.get("Status") == "Stopped"]
    return seconds(stopped.get("Start"), stopped.get("End"))


def test_a_jam_holds_the_carriage_and_so_the_other_lane(bench: Bench, work: Work) -> None:
    for lane in "AB":
        bench.deliver(Job(pieces=row(4, height_mm=400), amount=4, device_id=f"HL-P1-{lane}"), lane=lane)
    wish(bench, "jam")
    work(clock_factor=10)

    assert notices(bench, "A") + notices(bench, "B") == ["MediaJam"]
    first = min(entry["at"] for entry in bench.log())
    [stopped] = [p for p in bench.phases("A") if p.get("Status") == "Stopped"]
    assert stopped.get("PhaseStartTime") < first


def test_a_jam_is_wished_once(bench: Bench, work: Work) -> None:
    bench.deliver(JOB)
    wish(bench, "jam")
    work()
    bench.deliver(JOB)
    work()

    assert notices(bench) == ["MediaJam"]


def test_a_roll_that_ends_stops_the_job_until_somebody_says_that_another_is_on(
    bench: Bench, clock: TurnedClock
) -> None:
    # Leader 500 and two pieces to 810 mm fit; the third begins at 820 and would end at 1220.
    (bench.folder / "press.yaml").write_text(with_rolls(1500, change_s=None))
    bench.deliver(JOB)
    work_for(bench, clock, 600)
    assert said(bench)[-1] == ("Stopped", "MissResources", "2", "1")
    assert notices(bench) == ["MediaOut"]
    work_for(bench, clock, 600)
    assert len(bench.log()) == 2

    wish(bench, "HL-P1-A/roll-loaded")
    work_for(bench, clock, 600)

    assert said(bench)[-1] == ("Completed", "JobCompletedSuccessfully", "4", "1")
    assert [entry["index"] for entry in bench.log()] == [0, 1, 2, 3]


def work_for(bench: Bench, clock: TurnedClock, seconds: float) -> None:
    """A press that is started, works for a while and is stopped."""
    over = clock.seconds + seconds

    class Stop(threading.Event):
        def is_set(self) -> bool:
            return clock.seconds > over

    press = read_settings(bench.folder)
    with Places(bench.folder, press) as places:
        Simulator(press, places, clock, 60).work(Stop())


def test_a_new_roll_is_on_by_itself_after_the_time_that_the_press_says(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(with_rolls(1500, change_s=90))
    bench.deliver(JOB)
    work(clock_factor=10)

    assert standstill_s(bench) == pytest.approx(9, abs=0.2)
    assert len(bench.log()) == 4


def test_what_is_left_of_a_roll_that_ended_and_the_second_leader_are_waste(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(with_rolls(1500))
    bench.deliver(JOB)
    work()

    # Good: 1630 mm. Waste: leader and trailer, the tail 1500 - 500 - 810 behind the second piece, a leader again.
    assert media_m2(bench) == pytest.approx(
        {"Good": 1630 * 1.6 / 1000, "Waste": (500 + 400 + 190 + 500) * 1.6 / 1000}
    )


def test_jobs_share_a_roll_until_it_ends(bench: Bench, work: Work) -> None:
    # Each job takes 500 + 1630 + 400 = 2530 mm, so the second finds 1470 mm: leader and two pieces.
    (bench.folder / "press.yaml").write_text(with_rolls(4000))
    for _ in range(2):
        bench.deliver(JOB)
    work()

    stopped = [(amount, waste) for status, _, amount, waste in said(bench) if status == "Stopped"]
    assert stopped == [("2", "1")]
    assert len(bench.log()) == 8


def test_a_press_without_a_length_believes_the_ticket(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(f"{PRESS_YAML}roll_change_s: 5\n")
    from tests.unit.press_sim.tickets import ticket

    data = ticket(JOB)
    assert data.count(b"4535.433071 141732.283465") == 1
    # 1.5 m, in points.
    bench.deliver(data.replace(b"4535.433071 141732.283465", b"4535.433071 4251.968504"))
    work()

    assert ("Stopped", "MissResources", "2", "1") in said(bench)
    assert len(bench.log()) == 4


def test_a_lane_out_of_roll_leaves_the_other_to_print(bench: Bench, clock: TurnedClock) -> None:
    (bench.folder / "press.yaml").write_text(with_rolls(1500, change_s=None))
    for lane in "AB":
        bench.deliver(Job(pieces=row(4, height_mm=400), amount=4, device_id=f"HL-P1-{lane}"), lane=lane)
    work_for(bench, clock, 600)

    assert len(bench.returned("B")) == 1
    assert said(bench)[-1][:2] == ("Stopped", "MissResources")


def test_a_piece_longer_than_a_roll_is_refused_as_no_change_would_help(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(with_rolls(800))
    bench.deliver(JOB)
    work()

    assert bench.log() == []
    [note] = (bench.folder / "state/set-aside").glob("*.txt")
    assert "A piece of 400 mm and the leader need more than a roll of 800 mm." in note.read_text()


def test_every_answer_about_faults_is_valid_by_the_official_schema(
    bench: Bench, work: Work, problems: Problems
) -> None:
    (bench.folder / "press.yaml").write_text(with_rolls(1500))
    bench.deliver(JOB)
    wish(bench, "jam")
    work()

    answers = bench.files("status") + bench.files("returned")
    assert {path.name: problems(path) for path in answers} == {path.name: [] for path in answers}


def bench_with_faults(folder: Path) -> Bench:
    folder.mkdir()
    bench = Bench(folder, with_rolls(1500))
    bench.deliver(JOB)
    wish(bench, "jam")
    return bench


def was_killed(bench: Bench, clock: TurnedClock) -> bool:
    try:
        work_until_idle(bench, clock, clock_factor=20)
    except Killed:
        return True
    return False


@pytest.mark.parametrize("after", [False, True], ids=["before the call", "after the call"])
def test_a_kill_at_any_file_operation_around_faults_prints_and_answers_everything_once(
    tmp_path: Path, clock: TurnedClock, monkeypatch: pytest.MonkeyPatch, after: bool
) -> None:
    killer = Killer(monkeypatch)
    for operations in range(1, 200):
        bench = bench_with_faults(tmp_path / str(operations))
        postbox = Postbox(bench)
        killer.arm(operations, after=after)
        killed = was_killed(bench, clock)
        postbox.fetch()
        if killed:
            work_until_idle(bench, clock, clock_factor=20)
            postbox.fetch()
        assert [entry["index"] for entry in bench.log()] == [0, 1, 2, 3]
        assert len(postbox.returned) == 1
        assert all(len(contents) == 1 for contents in postbox.reports.values())
        told = b"".join(content for [content] in postbox.reports.values())
        assert told.count(b'EventID="MediaOut"') == told.count(b'StatusDetails="MissResources"') // 2 == 1
        assert told.count(b'EventID="MediaJam"') == told.count(b'StatusDetails="PaperJam"') // 2 <= 1
        if not killed:
            assert operations > 60
            return
    pytest.fail("the job never ended without a kill")
