"""A ticket that comes before its artwork waits for it, through restarts, and not for ever."""

from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench, counter_line
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.waiting import wake
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

PATIENCE_S = 100


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    bench.let_wait(PATIENCE_S)
    return bench


def art_of(bench: Bench) -> Path:
    return bench.source.drop / "art" / f"{BANNER.job_id}.pdf"


def drop_early(bench: Bench, bridge: Bridge) -> bytes:
    """The ticket without its artwork; gives the artwork's bytes."""
    name = bench.drop(BANNER)
    data = art_of(bench).read_bytes()
    art_of(bench).unlink()
    accept(bridge, [bench.claim(name)])
    return data


def turn(bridge: Bridge, times: int = 1) -> None:
    for _ in range(times):
        accept(bridge, wake(bridge))


def pass_time(bench: Bench, seconds: int) -> None:
    for _ in range(seconds):
        next(bench.clock)


def jobs(bridge: Bridge) -> list[State]:
    with bridge.store.transaction() as tx:
        return [job.state for job in tx.all_jobs()]


def test_a_ticket_waits_until_its_artwork_is_there_and_stands_still(bench: Bench) -> None:
    bridge = bench.restart()
    data = drop_early(bench, bridge)
    turn(bridge, 3)
    assert bench.files(bench.source.waiting) == [BANNER.file_name]
    assert bench.signals(bridge) == ["Notification TicketWaits"]

    art_of(bench).write_bytes(data[:50])
    turn(bridge)
    art_of(bench).write_bytes(data)
    turn(bridge)
    assert jobs(bridge) == []
    pass_time(bench, 3)
    turn(bridge)

    assert jobs(bridge) == [State.WAITING]
    assert bench.files(bench.source.accepted) == [BANNER.file_name]
    assert bench.files(bench.source.waiting) == []


def test_after_the_patience_it_is_refused_for_its_artwork(bench: Bench) -> None:
    bridge = bench.restart()
    drop_early(bench, bridge)
    pass_time(bench, PATIENCE_S)
    turn(bridge)

    assert bench.files(bench.source.refused) == [BANNER.file_name, f"{BANNER.file_name}.findings.txt"]
    assert bench.signals(bridge) == ["Notification TicketWaits", "Notification artwork.missing 120"]


def test_a_restart_goes_on_waiting_and_patience_is_not_given_anew(bench: Bench) -> None:
    drop_early(bench, bench.restart())
    bridge = bench.restart()
    turn(bridge, 2)
    assert bench.files(bench.source.waiting) == [BANNER.file_name]
    assert bench.signals(bridge) == ["Notification TicketWaits"]

    pass_time(bench, PATIENCE_S)
    turn(bridge)

    assert bench.files(bench.source.refused)[0] == BANNER.file_name


def test_a_ticket_with_another_fault_does_not_wait(bench: Bench) -> None:
    bridge = bench.restart()
    name = bench.drop(BANNER, lambda data: data.replace(b"Harbour Banner 510", b"Moonbeam Film 9"))
    art_of(bench).unlink()
    accept(bridge, [bench.claim(name)])

    assert bench.files(bench.source.refused)[0] == BANNER.file_name


def test_without_patience_it_is_refused_at_once(bench: Bench) -> None:
    bench.drop_lines("orders.csv", counter_line("C-1"))
    (bench.counter.drop / "C-1.pdf").unlink()
    bridge = bench.restart()
    accept(bridge, [bench.claim("orders.csv", at="counter")])

    assert bench.files(bench.counter.refused) == ["orders.csv", "orders.csv.findings.txt"]


def test_a_ticket_that_waited_does_not_take_the_place_of_a_newer_one(bench: Bench) -> None:
    def other_artwork(data: bytes) -> bytes:
        root = etree.fromstring(data)
        for file in root.iter(jdf("FileSpec")):
            file.set("URL", "art/newer.pdf")
        return etree.tostring(root)

    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    data = drop_early(bench, bridge)
    (bench.source.drop / "art" / "newer.pdf").write_bytes(data + b"%newer")
    name = bench.drop(BANNER, other_artwork)
    art_of(bench).unlink()
    accept(bridge, [bench.claim(name)])
    assert jobs(bridge) == [State.WAITING]

    art_of(bench).write_bytes(data)
    turn(bridge)
    pass_time(bench, 3)
    turn(bridge)

    assert jobs(bridge) == [State.WAITING]
    [note] = bench.source.refused.glob("*.findings.txt")
    assert "intake.overtaken" in note.read_text()
