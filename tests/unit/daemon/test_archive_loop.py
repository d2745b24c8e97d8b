"""The thread that archives: beside the work, and it ends when it is told to."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.unit.flow.bench import Bench
from tests.unit.flow.test_archiving import KEPT, one_done_and_one_open, print_everything, years_pass
from ticketbridge.daemon import archive_loop, clock
from ticketbridge.daemon.archive_loop import ArchiveLoop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.bridge import Bridge
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import open_view


class Told(Notices):
    """The log, kept."""

    def __init__(self) -> None:
        super().__init__()
        self.events: list[str] = []

    def tell(self, event: str, **facts: Any) -> None:
        self.events.append(f"{event} {facts.get('archive', '')}")

    def failing(self, what: str, **facts: Any) -> None:
        self.events.append(f"{what}: {facts['reason']}")


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    bench = Bench(tmp_path / "shop")
    bench.set_shop("time_zone:", f"{KEPT}time_zone:")
    monkeypatch.setattr(archive_loop, "FIRST_LOOK_S", 0.0)
    return bench


def loop_of(bench: Bench, bridge: Bridge, told: Told) -> ArchiveLoop:
    def do(work: Callable[[Bridge], Any]) -> "Future[Any]":
        answer: Future[Any] = Future()
        answer.set_result(work(bridge))
        return answer

    view = open_view(ShopPlaces(bench.folder).database)
    return ArchiveLoop(bridge, view, do, told, Heartbeats(clock.monotonic))


def test_the_first_look_archives_what_is_old_and_stop_ends_the_wait_for_the_next(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bridge, told = one_done_and_one_open(bench), Told()
    print_everything(bench, bridge)
    later = years_pass(bench)
    monkeypatch.setattr(clock, "now", lambda: later)
    loop = loop_of(bench, bridge, told)

    loop.start()
    for _ in range(400):
        if any(event.endswith("mis-tickets.zip") for event in told.events):
            break
        threading.Event().wait(0.05)
    loop.stop()
    loop.join(10)

    assert not loop.is_alive()
    assert any(event.endswith("mis-tickets.zip") for event in told.events), told.events
    assert bench.files(bench.source.accepted) == []
    bridge.store.close()


def test_a_disk_that_does_not_take_an_archive_is_told_and_costs_nothing(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bridge, told = one_done_and_one_open(bench), Told()
    later = years_pass(bench) + timedelta(days=1)
    monkeypatch.setattr(clock, "now", lambda: later)
    before = bench.files(bench.source.accepted)
    (bench.folder / "archive").write_text("a file where the folder should be")
    loop = loop_of(bench, bridge, told)

    loop.start()
    for _ in range(400):
        if told.events:
            break
        threading.Event().wait(0.05)
    loop.stop()
    loop.join(10)

    assert told.events[0].startswith("nothing can be archived: ")
    assert bench.files(bench.source.accepted) == before
    bridge.store.close()


def test_the_same_look_forgets_what_was_received_long_ago(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bridge, told = bench.restart(), Told()
    now = bridge.now()
    with bridge.store.transaction() as tx:
        assert tx.is_new_message("press", "1", now)
    monkeypatch.setattr(clock, "now", lambda: now + timedelta(days=500))
    loop_of(bench, bridge, told).look()
    with bridge.store.transaction() as tx:
        assert tx.is_new_message("press", "1", now)
    bridge.store.close()
