"""The planner against published problems and the backlogs' own judge; a short selection with small budgets.

All of them, with the budgets that the bars ask for: ``python -m tests.benchmarks.published_plans``.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.lanes import judge_in, planned, simple_rules
from tests.outside.published_plans import (
    as_judged,
    backlog,
    family_problem,
    machines_problem,
    tardiness_problems,
)
from ticketbridge.decide.plan.bound import least_press_s
from ticketbridge.decide.plan.exact import can_be_exact, earliest_finish
from ticketbridge.decide.plan.search import Aim, Budget, improve
from ticketbridge.decide.plan.start import in_order, sorted_by
from ticketbridge.decide.plan.timetable import cost_of


@pytest.fixture(scope="module")
def scheduling(shared: Path) -> Path:
    return shared / "checks" / "scheduling"


def test_roll_and_mode_changes_are_planned_as_well_as_can_be(scheduling: Path) -> None:
    instances = json.loads((scheduling / "family-setups.json").read_text())["instances"]

    for instance in instances:
        problem = family_problem(instance)
        assert can_be_exact(problem)
        cost = cost_of(problem, earliest_finish(problem))
        assert cost.finish_s == instance["optimum"], instance["id"]
        assert least_press_s(problem) <= cost.press_s, instance["id"]


def test_unrelated_machines_with_setups_are_planned_as_well_as_can_be(scheduling: Path) -> None:
    instances = json.loads((scheduling / "vr-small.json").read_text())["instances"]

    for instance in instances[::12]:
        problem = machines_problem(instance)
        assert cost_of(problem, earliest_finish(problem)).finish_s == instance["optimum"], instance["id"]


def test_the_search_never_beats_what_is_proven_best_on_several_machines(scheduling: Path) -> None:
    instances = json.loads((scheduling / "vr-small.json").read_text())["instances"]

    for instance in instances[5::30]:
        problem = machines_problem(instance)
        plan = improve(problem, in_order(problem, range(instance["jobs"])), Aim(), Budget(3_000))
        assert cost_of(problem, plan).finish_s >= instance["optimum"], instance["id"]


def test_weighted_tardiness_of_forty_jobs_comes_within_a_hundredth_of_the_best(scheduling: Path) -> None:
    chosen = [found for number, found in tardiness_problems(scheduling).items() if number % 12 == 6]
    found = best = 0.0

    for problem, value in chosen:
        start = in_order(problem, sorted_by(problem, lambda job: (job.due_s,)))
        late = cost_of(problem, improve(problem, start, Aim(), Budget(12_000))).late_s
        assert late >= value
        found, best = found + late, best + value

    assert len(chosen) == 10
    assert found <= 1.01 * best


@pytest.mark.parametrize("day", ["05", "10"])
def test_a_two_lane_backlog_is_planned_far_better_than_sorted(scheduling: Path, day: str) -> None:
    lanes = scheduling / "lanes"
    problem = backlog(lanes / f"day-{day}.json")
    bar = simple_rules(lanes)[day]

    plan = planned(problem, 30_000)

    judged = judge_in(lanes)(json.loads((lanes / f"day-{day}.json").read_text()), as_judged(problem, plan))
    assert judged["finish_s"] / 3600 < 0.9 * bar["sorted"]
    assert judged["weighted_lateness_s"] / 3600 < bar["late"]
    assert least_press_s(problem) <= judged["finish_s"]
    assert judged["finish_s"] <= 1.15 * least_press_s(problem)


@pytest.mark.parametrize("day", ["01", "02"])
def test_the_judge_of_the_backlogs_comes_to_the_same_cost_as_we_do(
    scheduling: Path, tmp_path: Path, day: str
) -> None:
    lanes = scheduling / "lanes"
    problem = backlog(lanes / f"day-{day}.json")
    plan = planned(problem, 3_000)
    ours = cost_of(problem, plan)
    (tmp_path / "plan.json").write_text(json.dumps(as_judged(problem, plan)))

    judge = [sys.executable, lanes / "judge.py", lanes / f"day-{day}.json", tmp_path / "plan.json"]
    told = subprocess.run(judge, check=True, capture_output=True, text=True).stdout

    judged = json.loads(told)
    assert judged["finish_s"] == pytest.approx(ours.finish_s, abs=0.1)
    assert judged["weighted_lateness_s"] == pytest.approx(ours.late_s, abs=0.5)
    assert judged["roll_changes"] == ours.roll_changes
    assert judged["blocks"] == len(plan)
