"""A crash at every single step that touches the disk, then a new process: nothing lost, nothing twice.

The crash is an exception that nothing catches, raised before the n-th call of anything that writes, syncs,
renames or commits. What a killed process leaves is just that: all calls before, none after. (Power loss is
another matter: it also takes what was not synced.)
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench, counter_line, press_returns
from ticketbridge.demo.orders import ORDERS, DemoOrder, artwork
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.waiting import wake
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.hand_over import deliver
from ticketbridge.model.job_states import State
from ticketbridge.spool import durable
from ticketbridge.store.store import Store
from ticketbridge.vocabulary.names import jdf

BOARD = ORDERS[6]
STEPS = (
    "write_and_sync",
    "read_and_sync",
    "write_unsynced",
    "sync_folder",
    "sync_file",
    "move",
    "show_new",
    "write_new",
)


class Crash(BaseException):
    """The process is gone."""


@dataclass
class Fuse:
    """Burns one step each time the disk is touched; at zero the process is gone, and stays so."""

    left: int
    touched: int = 0

    def burn(self) -> None:
        self.touched += 1
        self.left -= 1
        if self.left < 0:
            raise Crash


def lay(fuse: Fuse, patch: pytest.MonkeyPatch) -> None:
    """Put the fuse before everything that touches the disk."""
    for name in STEPS:
        patch.setattr(durable, name, fused(fuse, getattr(durable, name)))
    patch.setattr(deliver, "withdraw", fused(fuse, deliver.withdraw))
    inner = Store.transaction

    def transaction(self: Store) -> Any:
        fuse.burn()  # before the commit's first statement; a commit itself is whole or not at all
        return inner(self)

    patch.setattr(Store, "transaction", transaction)


def fused(fuse: Fuse, inner: Callable[..., Any]) -> Callable[..., Any]:
    def step(*args: Any, **named: Any) -> Any:
        fuse.burn()
        return inner(*args, **named)

    return step


def play(bench: Bench, fuse: Fuse | None, patch: pytest.MonkeyPatch, act: Callable[[Bridge], None]) -> None:
    """Start as a new process would, and act, until the fuse is burnt."""
    with patch.context() as patched:
        if fuse is not None:
            lay(fuse, patched)
        bridge: Bridge | None = None
        try:
            bridge = bench.restart()
            act(bridge)
        except Crash:
            pass
        finally:
            if bridge is not None:
                bridge.store.close()


def accept_all(bench: Bench) -> Callable[[Bridge], None]:
    def act(bridge: Bridge) -> None:
        names = bench.files(bench.source.drop)
        tickets = [name for name in names if name.endswith(".jdf")]
        accept(bridge, [bench.claim(name) for name in tickets])

    return act


LINES = (counter_line("C-1"), counter_line("C-2", stock="Moonbeam Film 9"), counter_line("C-3"))


def accept_lines(bench: Bench) -> Callable[[Bridge], None]:
    def act(bridge: Bridge) -> None:
        names = [name for name in bench.files(bench.counter.drop) if name.endswith(".csv")]
        accept(bridge, [bench.claim(name, at="counter") for name in names])

    return act


def where(bench: Bench, order: DemoOrder) -> list[str]:
    places = ("drop", "claimed", "accepted", "repeated", "refused")
    return [
        place
        for place in places
        for name in bench.files(bench.source.folder / place)
        if name == order.file_name
    ]


@pytest.mark.parametrize("first", range(60))
def test_after_a_crash_at_any_step_of_taking_in_each_ticket_is_in_one_place_and_each_job_once_at_its_lane(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = Bench(tmp_path / "shop")
    for order in (BANNER, CANVAS, BOARD):
        bench.drop(order)

    play(bench, Fuse(first), monkeypatch, accept_all(bench))
    play(bench, Fuse(first // 2 + 3), monkeypatch, accept_all(bench))
    play(bench, None, monkeypatch, accept_all(bench))

    assert [where(bench, order) for order in (BANNER, CANVAS, BOARD)] == [
        ["accepted"],
        ["accepted"],
        ["refused"],
    ]
    with bench.start().store.transaction() as tx:
        jobs = {job.job_id: job for job in tx.all_jobs()}
    assert sorted(jobs) == [BANNER.job_id, CANVAS.job_id]
    delivered = [
        name
        for device_id in ("HL-P1-A", "HL-P1-B", "HL-P2-W")
        for name in bench.files(bench.lane(device_id).tickets)
    ]
    assert sorted(delivered) == sorted(f"{job.queue_entry_id}.jdf" for job in jobs.values())


@pytest.mark.parametrize("first", range(40))
def test_after_a_crash_at_any_step_of_taking_in_a_file_of_three_orders_each_is_one_job_or_refused_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = Bench(tmp_path / "shop")
    bench.drop_lines("orders.csv", *LINES)

    play(bench, Fuse(first), monkeypatch, accept_lines(bench))
    play(bench, Fuse(first // 2 + 3), monkeypatch, accept_lines(bench))
    play(bench, None, monkeypatch, accept_lines(bench))

    places = bench.counter
    assert bench.files(places.accepted) == ["orders.csv", "orders.csv.findings.txt"]
    lying = (places.drop, places.claimed, places.repeated, places.refused)
    assert [name for place in lying for name in bench.files(place) if name.endswith(".csv")] == []
    bridge = bench.start()
    with bridge.store.transaction() as tx:
        jobs = {job.job_id: job for job in tx.all_jobs()}
        assert len(tx.all_jobs()) == len(jobs)
    assert sorted(jobs) == ["C-1", "C-3"]
    assert bench.signals(bridge, "counter").count("Notification mapping.substrate-unknown 200") == 1
    delivered = [
        name
        for device_id in bridge.lanes
        for name in bench.files(bench.lane(device_id).tickets)
        if name.endswith(".jdf")
    ]
    assert sorted(delivered) == sorted(f"{job.queue_entry_id}.jdf" for job in jobs.values() if job.given)
    assert delivered


@pytest.mark.parametrize("first", range(36))
def test_after_a_crash_at_any_step_of_taking_in_artwork_alone_it_lies_where_its_ticket_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = Bench(tmp_path / "shop")
    name = "HL-7_2x_Banner.pdf"
    (bench.pdf_drop.drop / name).write_bytes(artwork(BANNER))

    def take(bridge: Bridge) -> None:
        names = [one for one in bench.files(bench.pdf_drop.drop) if one.endswith(".pdf")]
        accept(bridge, [bench.claim(one, at="pdf-drop") for one in names])

    play(bench, Fuse(first), monkeypatch, take)
    written = list(bench.folder.glob("lanes/*/in/Q*.jdf"))
    assert all(_artwork_of(path).is_file() for path in written), "no press has a ticket before its artwork"
    play(bench, Fuse(first // 2 + 3), monkeypatch, take)
    play(bench, None, monkeypatch, take)

    assert bench.files(bench.pdf_drop.artwork) == [name]
    [ticket] = bench.folder.glob("lanes/*/in/Q*.jdf")
    assert _artwork_of(ticket).read_bytes() == artwork(BANNER)


@pytest.mark.parametrize("first", range(36))
def test_after_a_crash_at_any_step_of_waiting_for_artwork_the_ticket_becomes_one_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = Bench(tmp_path / "shop")
    bench.let_wait(100_000)
    bench.drop(BANNER)
    art = bench.source.drop / "art" / f"{BANNER.job_id}.pdf"
    data = art.read_bytes()
    art.unlink()

    def turn(bridge: Bridge) -> None:
        accept_all(bench)(bridge)
        for _ in range(3):
            accept(bridge, wake(bridge))

    play(bench, Fuse(first), monkeypatch, turn)
    play(bench, None, monkeypatch, turn)
    assert bench.files(bench.source.waiting) == [BANNER.file_name]
    art.write_bytes(data)
    play(bench, Fuse(first), monkeypatch, turn)
    play(bench, None, monkeypatch, turn)

    assert where(bench, BANNER) == ["accepted"]
    assert bench.files(bench.source.waiting) == []
    with bench.start().store.transaction() as tx:
        assert len(tx.all_jobs()) == 1


def _artwork_of(ticket: Path) -> Path:
    [file] = etree.parse(ticket).iter(jdf("FileSpec"))
    return Path(unquote(urlsplit(file.get("URL", "")).path))


@pytest.mark.parametrize("first", range(22))
def test_after_a_crash_at_any_step_of_following_the_job_ends_once_and_is_told_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = Bench(tmp_path / "shop")
    bench.drop(BANNER)
    play(bench, None, monkeypatch, accept_all(bench))
    lane = bench.lane("HL-P1-A")
    [written] = lane.tickets.glob("Q*.jdf")
    data = press_returns(written.read_bytes())
    (lane.returned / "P1-000001.jdf").write_bytes(data)

    def look(bridge: Bridge) -> None:
        for path in sorted(lane.returned.glob("*.jdf")):
            follow(bridge, PressFile("HL-P1-A", path, path.read_bytes(), lambda _: None))

    play(bench, Fuse(first), monkeypatch, look)
    play(bench, None, monkeypatch, look)

    bridge = bench.start()
    with bridge.store.transaction() as tx:
        assert [job.state for job in tx.all_jobs()] == [State.COMPLETED]
        used_m = tx.standing("Q000001").roll_length_mm / 1000
        assert tx.rolls()["HL-P1-A"].length_left_m == pytest.approx(50 - used_m)
    assert bench.signals(bridge).count("ReturnQueueEntry") == 1
    assert bench.files(bench.source.returned) == ["Q000001.jdf"]
    assert bench.files(lane.returned) == []


def test_the_fuse_of_these_tests_reaches_to_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """If taking in ever needs more steps than are tried above, this says so."""
    bench = Bench(tmp_path / "shop")
    for order in (BANNER, CANVAS, BOARD):
        bench.drop(order)
    fuse = Fuse(10_000)

    play(bench, fuse, monkeypatch, accept_all(bench))

    assert 20 < fuse.touched <= 60


def test_the_fuse_of_the_file_with_three_orders_reaches_to_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench(tmp_path / "shop")
    bench.drop_lines("orders.csv", *LINES)
    fuse = Fuse(10_000)

    play(bench, fuse, monkeypatch, accept_lines(bench))

    assert 15 < fuse.touched <= 40
