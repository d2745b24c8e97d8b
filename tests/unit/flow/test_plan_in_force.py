"""A plan put into force: order and lanes of what waits, never what a press has."""

from dataclasses import replace
from itertools import groupby
from pathlib import Path

import pytest

from tests.unit.flow.bench import Bench, counter_line
from ticketbridge.decide.plan.search import Budget
from ticketbridge.decide.plan.shop_plan import PlannedShop, plan_shop
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.flow.plan.planning import places_in, plan_by_itself, shop_now
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.queue_state import QueueState
from ticketbridge.model.request import Reply, Request, Wish
from ticketbridge.model.shop import PlanBy

CANVAS, MESH = "Harbour Canvas 380", "Harbour Mesh 270"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def full(bench: Bench) -> Bridge:
    """Eight jobs wait: banner and mesh by turns, and two of canvas. No lane is ready yet."""
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    stocks = ["Harbour Banner 510", MESH] * 3 + [CANVAS] * 2
    lines = [counter_line(f"C-{number}", pieces="6", stock=stock) for number, stock in enumerate(stocks)]
    bench.drop_lines("orders.csv", *lines)
    accept(bridge, [bench.claim("orders.csv", at="counter")])
    bridge.unfinished_lanes.clear()
    return bridge


def planned(bridge: Bridge, steps: int = 800) -> PlannedShop:
    with bridge.store.transaction() as tx:
        facts, _ = shop_now(tx, bridge.shop, bridge.now(), frozenset(bridge.unfinished_lanes))
    return plan_shop(facts, Budget(steps))


def accept_it(bridge: Bridge, plan: PlannedShop, request_id: str = "r1") -> Reply:
    places = [[place.queue_entry_id, place.device_id] for place in places_in(plan)]
    return answer(bridge, Request(Wish.PLAN, "op-03", {"places": places}), request_id)


def standings(bridge: Bridge) -> dict[str, Standing]:
    with bridge.store.transaction() as tx:
        return {job.queue_entry_id: job for job in tx.all_jobs()}


def test_a_plan_takes_no_longer_than_the_order_of_arrival_and_no_less_than_its_bound(full: Bridge) -> None:
    plan = planned(full).plan

    assert {job.queue_entry_id for job in plan.jobs} == set(standings(full))
    assert plan.figures.press_hours < plan.first_come.press_hours
    assert plan.least_press_hours <= plan.figures.press_hours
    assert plan.figures.broken == 0


def test_mesh_is_printed_in_one_go_so_that_the_underlay_is_put_in_once(full: Bridge) -> None:
    jobs = planned(full).plan.jobs
    runs = {
        press: [mesh for mesh, _ in groupby("MESH" in job.roll for job in jobs if job.press == press)]
        for press in ("P1", "P2")
    }

    assert sum(run.count(True) for run in runs.values()) == 1


def test_an_accepted_plan_gives_the_jobs_its_order_and_its_lanes(full: Bridge) -> None:
    plan = planned(full)

    reply = accept_it(full, plan)

    assert reply.done
    assert reply.findings[0].code == "plan.accepted"
    assert reply.findings[0].facts["planned"] == 8
    found = standings(full)
    for place in places_in(plan):
        job = found[place.queue_entry_id]
        assert (job.device_id, job.plan_position) == (place.device_id, place.position)


def test_jobs_are_handed_over_in_the_order_of_the_plan(bench: Bench, full: Bridge) -> None:
    plan = planned(full)
    accept_it(full, plan)

    release_waiting(full)

    given = {name for name, job in standings(full).items() if job.given}
    firsts = {}
    for place in places_in(plan):
        firsts.setdefault(place.device_id, place.queue_entry_id)
    assert given
    assert given <= set(firsts.values())


def test_a_job_that_changes_its_lane_leaves_one_queue_and_joins_another(bench: Bench, full: Bridge) -> None:
    before = {name: job.device_id for name, job in standings(full).items()}
    reply = answer(
        full, Request(Wish.PLAN, "op-03", {"places": [["Q000001", other_lane(before["Q000001"])]]}), "r1"
    )

    assert reply.findings[0].facts["moved"] == 1
    moved = standings(full)["Q000001"]
    assert moved.device_id == other_lane(before["Q000001"])
    with full.store.transaction() as tx:
        assert tx.job("Q000001").device_id == moved.device_id
        assert tx.history("Q000001")[-1]["what"] == "moved by the plan"
        assert tx.history("Q000001")[-1]["who"] == "op-03"
    assert bench.signals(full, of="counter")[-2:] == [
        "QueueStatus Q000001:Removed",
        "QueueStatus Q000001:Waiting",
    ]


def other_lane(device_id: str) -> str:
    return "HL-P2-W" if device_id != "HL-P2-W" else "HL-P1-A"


def test_what_a_press_has_is_planned_first_and_not_moved(full: Bridge) -> None:
    release_waiting(full)
    given = {name: job.device_id for name, job in standings(full).items() if job.given}
    assert given

    plan = planned(full)

    for job in plan.plan.jobs:
        if job.queue_entry_id in given:
            assert job.given
            assert job.device_id == given[job.queue_entry_id]
            assert job.starts_at == min(one.starts_at for one in plan.plan.jobs if one.press == job.press)
    assert not {place.queue_entry_id for place in places_in(plan)} & set(given)


def test_a_job_that_has_moved_on_since_is_passed_over_and_told(full: Bridge) -> None:
    plan = planned(full)
    release_waiting(full)

    reply = accept_it(full, plan)

    given = {name for name, job in standings(full).items() if job.given}
    told = {f.facts["queue_entry_id"] for f in reply.findings if f.code == "plan.passed-over"}
    assert told == given
    assert reply.done


def test_the_same_acceptance_again_after_a_crash_changes_nothing(full: Bridge) -> None:
    plan = planned(full)
    accept_it(full, plan)
    before = standings(full)

    assert accept_it(full, plan).done

    assert standings(full) == before


def test_a_held_job_is_not_planned(full: Bridge) -> None:
    answer(full, Request(Wish.HOLD, "op-03", {"queue_entry_id": "Q000002"}), "h1")

    assert "Q000002" not in {job.queue_entry_id for job in planned(full).plan.jobs}


def test_a_higher_priority_is_printed_before_all_others_of_its_press(full: Bridge) -> None:
    answer(full, Request(Wish.PRIORITY, "op-03", {"queue_entry_id": "Q000006", "priority": 90}), "p1")

    plan = planned(full).plan

    [hurried] = [job for job in plan.jobs if job.queue_entry_id == "Q000006"]
    others = [job for job in plan.jobs if job.press == hurried.press and job is not hurried]
    assert hurried.position == 1
    assert all(job.ends_at >= hurried.starts_at for job in others)


def test_a_place_that_somebody_gave_binds_the_plan_and_keeps_the_job_on_its_lane(full: Bridge) -> None:
    job = standings(full)["Q000006"]
    with full.store.transaction() as tx:
        tx.change_job(job, position=0)

    plan = planned(full).plan

    [placed] = [one for one in plan.jobs if one.queue_entry_id == "Q000006"]
    assert (placed.device_id, placed.position) == (job.device_id, 1)


def test_a_queue_that_is_held_gets_nothing_from_the_plan(full: Bridge) -> None:
    with full.store.transaction() as tx:
        tx.set_queue_state("HL-P2-W", QueueState(held=True))

    assert "HL-P2-W" not in {job.device_id for job in planned(full).plan.jobs}


def test_a_lane_that_is_not_ready_gets_nothing(full: Bridge) -> None:
    full.unfinished_lanes.add("HL-P2-W")

    assert "HL-P2-W" not in {job.device_id for job in planned(full).plan.jobs}


def test_the_bridge_plans_by_itself_only_where_the_shop_says_so_and_something_changed(full: Bridge) -> None:
    assert not plan_by_itself(full)

    settings = full.shop.settings.model_copy(update={"plan": PlanBy.ITSELF})
    full.use(full.shop.model_copy(update={"settings": settings}))

    assert plan_by_itself(full)
    assert all(job.plan_position for job in standings(full).values())
    assert not plan_by_itself(full)
    full.plan_is_old = True
    assert plan_by_itself(full)


def test_jobs_beyond_the_most_that_are_planned_wait_for_their_turn(
    full: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ticketbridge.flow.plan.planning.MOST_JOBS", 3)
    with full.store.transaction() as tx:
        facts, left_out = shop_now(tx, full.shop, full.now())

    assert len(facts.waiting) == 3
    assert set(left_out.values()) == {"plan.later"}
    assert len(left_out) == 5


def test_a_job_that_no_roll_suits_is_told_and_not_planned(bench: Bench) -> None:
    bridge = bench.restart()
    for device_id in ("HL-P1-A", "HL-P1-B", "HL-P2-W"):
        with bridge.store.transaction() as tx:
            tx.take_off(device_id, bridge.now(), gone=True)
    bench.drop_lines("orders.csv", counter_line("C-1", stock=CANVAS))
    accept(bridge, [bench.claim("orders.csv", at="counter")])

    with bridge.store.transaction() as tx:
        facts, left_out = shop_now(tx, bridge.shop, bridge.now())

    assert not facts.waiting
    assert left_out == {"Q000001": "plan.no-roll"}


def test_where_every_lane_that_could_is_closed_the_job_is_told(full: Bridge) -> None:
    with full.store.transaction() as tx:
        facts, _ = shop_now(tx, full.shop, full.now(), frozenset(full.lanes))

    plan = plan_shop(replace(facts, waiting=facts.waiting[:2]), Budget(10)).plan

    assert plan.unplanned == {"Q000001": "plan.no-lane", "Q000002": "plan.no-lane"}
    assert plan.jobs == ()
    assert State.WAITING in {job.state for job in standings(full).values()}
