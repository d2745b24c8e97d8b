"""Rolls on the shelf: two jobs never plan on the same length, and a longer roll that comes in finds its job."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge, read_world
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.job import Job
from ticketbridge.model.request import Request, Wish

ORDER = replace(BANNER, quantity=10)  # some 18 m


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    """A bridge that hands nothing over, and whose banner rolls are gone."""
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    with bridge.store.transaction() as tx:
        for one in tx.stock():
            if one.roll.substrate == "BAN510":
                tx.load_roll("away", one.roll, bridge.now())
                tx.take_off("away", bridge.now(), gone=True)
    return bridge


def receive(bridge: Bridge, lot: str, length_m: float) -> None:
    args = {"substrate": "BAN510", "lot": lot, "width_mm": 1600, "length_m": length_m}
    assert answer(bridge, Request(Wish.ROLL_RECEIVE, "op-07", args), f"roll {lot}").done


def take(bench: Bench, bridge: Bridge, *job_ids: str) -> None:
    orders = [replace(ORDER, job_id=job_id, file_name=f"{job_id}.jdf") for job_id in job_ids]
    accept(bridge, [bench.claim(bench.drop(order)) for order in orders])


def jobs(bridge: Bridge) -> list[Job]:
    with bridge.store.transaction() as tx:
        return [tx.job(one.queue_entry_id) for one in tx.all_jobs()]


def lots(bridge: Bridge) -> list[str | None]:
    return [job.roll and job.roll.lot for job in jobs(bridge)]


@pytest.mark.parametrize("together", [True, False])
def test_two_jobs_do_not_plan_on_one_roll_of_the_shelf(bench: Bench, bridge: Bridge, together: bool) -> None:
    receive(bridge, "N-1", 20)
    receive(bridge, "N-2", 22)
    for batch in [("J-1", "J-2")] if together else [("J-1",), ("J-2",)]:
        take(bench, bridge, *batch)

    assert lots(bridge) == ["N-1", "N-2"]
    with bridge.store.transaction() as tx:
        left_m = {
            roll.lot: roll.length_left_m for roll in read_world(bridge, tx).shelf if roll.lot[:2] == "N-"
        }
    first, second = (job.estimate.roll_length_mm / 1000 for job in jobs(bridge))
    assert left_m == {"N-1": pytest.approx(20 - first), "N-2": pytest.approx(22 - second)}


def test_one_new_roll_is_not_given_to_two_jobs_that_wait_for_one(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, "J-1", "J-2")
    assert lots(bridge) == [None, None]
    receive(bridge, "N-1", 20)
    receive(bridge, "N-2", 20)
    assert lots(bridge) == ["N-1", "N-2"]


def test_a_job_whose_roll_is_too_short_is_judged_again_when_a_longer_one_comes_in(
    bench: Bench, bridge: Bridge
) -> None:
    receive(bridge, "N-1", 5)
    take(bench, bridge, "J-1")
    assert lots(bridge) == ["N-1"]
    receive(bridge, "N-2", 40)
    assert lots(bridge) == ["N-2"]
