"""What is said of a plan and of estimates that learn; then as the remedy wants it."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.remedies.changes import BANNER
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from ticketbridge.flow.plan import planning
from ticketbridge.flow.plan.learning import learn_again
from ticketbridge.model.learned import Actual
from ticketbridge.model.queue_state import QueueState

Steps = Iterator[None]
LANES = ("HL-P1-A", "HL-P1-B", "HL-P2-W")


def _orders(scene: Scene, count: int) -> None:
    """The first goes to a press each; what comes after them waits."""
    for number in range(count):
        order = replace(BANNER, job_id=f"HL-{number}", file_name=f"{number}.jdf")
        assert scene.order(order) == "accepted"
    scene.heard.clear()


def _plan(scene: Scene, words: str = "") -> str:
    return scene.command(f"plan --steps 50 {words}".strip())


@provokes("plan.nothing", "`ticketbridge jobs` lists")
def test_a_plan_where_nothing_waits(scene: Scene) -> Steps:
    assert scene.bridge
    _plan(scene)
    yield
    scene.command("jobs")


@provokes("plan.accepted", "`ticketbridge plan` shows what becomes of it")
def test_a_plan_is_accepted(scene: Scene) -> Steps:
    _orders(scene, 5)
    _plan(scene, "accept")
    yield
    assert "this plan" in _plan(scene)


@provokes("plan.passed-over", "Plan again")
def test_a_job_that_moved_on_while_somebody_looked_at_the_plan(scene: Scene) -> Steps:
    _orders(scene, 1)
    scene.request(
        "plan.json", '{"wish": "plan", "who": "op-03", "args": {"places": [["Q000001", "HL-P1-B"]]}}'
    )
    yield
    _plan(scene)


@provokes("plan.no-roll", "`ticketbridge rolls receive`")
def test_a_job_whose_roll_is_yet_to_come(scene: Scene) -> Steps:
    for lane in LANES:
        scene.command(f"rolls unload --lane {lane} --gone")
    for lot in ("B510-2208", "B510-2212"):
        scene.command(f"rolls load {lot} --lane HL-P2-W")
        scene.command("rolls unload --lane HL-P2-W --gone")
    _orders(scene, 1)
    _plan(scene)
    yield
    scene.command("rolls receive BAN510 N-1 1600 50")
    assert "this plan" in _plan(scene)


@provokes("plan.no-lane", "`ticketbridge jobs show Q000003` says why")
def test_a_job_whose_lanes_are_all_held(scene: Scene) -> Steps:
    _orders(scene, 3)
    for lane in LANES:
        with scene.bridge.store.transaction() as tx:
            tx.set_queue_state(lane, QueueState(held=True))
    _plan(scene)
    yield
    assert "HL-P1-A" in scene.command("jobs show Q000003")


@provokes("plan.later", "higher priority brings it forward")
def test_a_job_beyond_the_most_that_are_planned(scene: Scene) -> Steps:
    _orders(scene, 4)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(planning, "MOST_JOBS", 1)
        _plan(scene)
        later = next(f.facts["queue_entry_id"] for f in scene.heard if f.code == "plan.later")
    yield
    scene.command(f"jobs priority {later} 90")
    assert str(later) in _plan(scene)


@provokes("estimates.changed", "`ticketbridge estimates` shows the prints")
def test_a_press_that_prints_otherwise_from_one_day_on(scene: Scene) -> Steps:
    _orders(scene, 1)
    bridge, told = scene.bridge, len(scene.bench.notices)
    for number in range(52):
        with bridge.store.transaction() as tx:
            name = f"Q1{number:05d}"
            job = replace(
                tx.job("Q000001"), number=100_000 + number, queue_entry_id=name, printing=number + 2
            )
            tx.add_jobs([job])
            took_s = (130 if number < 40 else 160) + number % 5
            tx.record_actual(Actual(name, "P1", "banner-6", "BAN510", 100, took_s, 1, None), bridge.now())
        bridge.actuals_are_new = True
        if number in (39, 51):
            learn_again(bridge)
    scene._hear_notices(told)
    yield
    assert "P1 takes" in scene.command("estimates")
