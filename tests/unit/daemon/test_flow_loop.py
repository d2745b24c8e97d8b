"""The loop that moves jobs goes on, whatever one ticket or the world does to it."""

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.daemon import clock, flow_loop
from ticketbridge.daemon.flow_loop import FlowLoop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.intake import outcomes
from ticketbridge.model.shop import PlanBy
from ticketbridge.store.store import open_view


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setattr(flow_loop, "SHORTEST_PAUSE_S", 0.01)
    monkeypatch.setattr(flow_loop, "LONGEST_PAUSE_S", 0.05)
    return Bench(tmp_path / "shop")


@pytest.fixture
def loop(bench: Bench) -> Iterator[FlowLoop]:
    bridge = bench.restart()
    for box in (bridge.places.requests, bridge.places.replies):
        box.mkdir(exist_ok=True)
    loop = FlowLoop(bridge, lambda: None, Notices(), Heartbeats(clock.monotonic))
    thread = threading.Thread(target=loop.run)
    thread.start()
    yield loop
    loop.stop()
    thread.join(10)


def until(true: Callable[[], bool]) -> bool:
    for _ in range(1000):
        if true():
            return True
        time.sleep(0.01)
    return False


def breaking(for_file: str, error: Exception, times: int) -> Callable[..., Any]:
    inner, left = outcomes.decide, [times]

    def decide(found: Any, **named: Any) -> Any:
        if named["file"] == for_file and left[0] > 0:
            left[0] -= 1
            raise error
        return inner(found, **named)

    return decide


def drop(bench: Bench, loop: FlowLoop) -> None:
    for order in (BANNER, CANVAS):
        loop.claimed.put(bench.claim(bench.drop(order)))
    loop.wake()


def test_a_ticket_that_breaks_us_is_set_aside_after_three_attempts_and_the_next_is_served(
    bench: Bench, loop: FlowLoop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outcomes, "decide", breaking(BANNER.file_name, ZeroDivisionError("ours"), 1000))
    drop(bench, loop)

    assert until(lambda: bench.files(bench.source.accepted) == [CANVAS.file_name])
    assert until(lambda: BANNER.file_name in bench.files(bench.source.refused))
    [note] = bench.source.refused.glob("*.findings.txt")
    assert "intake.set-aside" in note.read_text()


def test_a_full_disk_stops_the_work_and_is_nobody_s_fault(
    bench: Bench, loop: FlowLoop, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = OSError(28, "No space left on device")
    monkeypatch.setattr(outcomes, "decide", breaking(BANNER.file_name, full, 10))
    drop(bench, loop)

    assert until(lambda: bench.files(bench.source.accepted) == [BANNER.file_name, CANVAS.file_name])
    assert bench.files(bench.source.refused) == []


def test_where_the_shop_says_so_the_loop_plans_what_waits_when_it_has_nothing_else_to_do(
    bench: Bench, loop: FlowLoop
) -> None:
    settings = loop._bridge.shop.settings.model_copy(update={"plan": PlanBy.ITSELF})
    loop._bridge.use(loop._bridge.shop.model_copy(update={"settings": settings}))
    for number in range(4):
        order = replace(BANNER, job_id=f"HL-{number}", file_name=f"{number}.jdf")
        loop.claimed.put(bench.claim(bench.drop(order)))
    loop.wake()

    view = open_view(loop._bridge.places.database)

    def waiting_jobs_are_planned() -> bool:
        with view.transaction() as tx:
            jobs = tx.all_jobs()
        return len(jobs) == 4 and all(job.given or job.plan_position for job in jobs)

    assert until(waiting_jobs_are_planned)
    view.close()
