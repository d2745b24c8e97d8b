"""A plan played through: changes, shifts, rolls that run out, and what may not be."""

from dataclasses import replace

import pytest

from tests.unit.decide.plan.made import two_lane_problem
from ticketbridge.decide.plan.blocks import make_block
from ticketbridge.decide.plan.problem import PlanPress, Problem
from ticketbridge.decide.plan.timetable import cost_of, job_times

NO_DUE = 1e9
ON_A, ON_B, ON_AB, OTHER_ON_A, WIDE_OTHER = 0, 1, 2, 3, 5


def with_press(problem: Problem, **changes: object) -> Problem:
    press: PlanPress = replace(problem.presses[0], **changes)  # type: ignore[arg-type]
    return replace(problem, presses=(press,))


def test_what_is_loaded_and_set_costs_no_change() -> None:
    problem = two_lane_problem([(0, 0, 600, 1000, NO_DUE, 0)])
    block = make_block(problem, ((ON_A, (0,)),))

    cost = cost_of(problem, [block])

    assert (cost.roll_changes, cost.setup_changes) == (0, 0)
    assert cost.finish_s == pytest.approx(block.print_s)


def test_one_person_changes_roll_and_mode_one_after_the_other() -> None:
    problem = two_lane_problem([(1, 1, 600, 1000, NO_DUE, 0)])
    block = make_block(problem, ((OTHER_ON_A, (0,)),))

    assert cost_of(problem, [block]).finish_s == pytest.approx(420 + 90 + block.print_s)


def test_a_wide_roll_takes_the_place_of_both_narrow_ones() -> None:
    problem = two_lane_problem([(0, 0, 2500, 1000, NO_DUE, 0), (0, 0, 600, 1000, NO_DUE, 0)])
    wide, narrow = make_block(problem, ((ON_AB, (0,)),)), make_block(problem, ((ON_A, (1,)),))

    assert cost_of(problem, [narrow, wide]).roll_changes == 1
    assert cost_of(problem, [wide, narrow]).roll_changes == 2


def test_a_block_begins_only_while_somebody_is_there_and_then_runs_on() -> None:
    problem = with_press(
        two_lane_problem([(0, 0, 600, 7200, NO_DUE, 0), (0, 0, 600, 7200, NO_DUE, 0)]),
        hours=((0.0, 1000.0), (50_000.0, 60_000.0)),
    )
    plan = [make_block(problem, ((ON_A, (job,)),)) for job in (0, 1)]

    times = job_times(problem, plan)

    assert times[0][0] == 0
    assert times[0][1] > 1000
    assert times[1][0] == 50_000


def test_a_roll_too_short_for_a_block_is_changed_and_one_too_short_for_all_is_told() -> None:
    problem = with_press(
        two_lane_problem([(0, 0, 600, 25_000, NO_DUE, 0), (0, 0, 600, 70_000, NO_DUE, 0)], stock=True),
        left_mm={0: 10_000.0, 1: 10_000.0},
    )

    short = cost_of(problem, [make_block(problem, ((ON_A, (0,)),))])
    too_long = cost_of(problem, [make_block(problem, ((ON_A, (1,)),))])

    assert (short.roll_changes, short.broken) == (1, 0)
    assert too_long.broken == 1


def test_a_higher_priority_that_comes_later_breaks_the_plan() -> None:
    problem = two_lane_problem([(0, 0, 600, 1000, NO_DUE, 1), (0, 0, 600, 1000, NO_DUE, 0)])
    first, second = (make_block(problem, ((ON_A, (job,)),)) for job in (0, 1))

    assert cost_of(problem, [second, first]).broken == 0
    assert cost_of(problem, [first, second]).broken == 1
    assert cost_of(problem, [make_block(problem, ((ON_A, (0, 1)),))]).broken == 1


def test_rolls_that_differ_in_diameter_cannot_turn_on_a_common_shaft() -> None:
    jobs = [(0, 0, 600.0, 1000.0, NO_DUE, 0), (0, 0, 600.0, 1000.0, NO_DUE, 0)]
    problem = two_lane_problem(jobs, stock=True)
    alike = with_press(problem, left_mm={0: 50_000.0, 1: 52_000.0}, diameter_tolerance_mm=30)
    unlike = with_press(problem, left_mm={0: 5_000.0, 1: 400_000.0}, diameter_tolerance_mm=30)
    block = make_block(problem, ((ON_A, (0,)), (ON_B, (1,))))

    assert cost_of(alike, [block]).broken == 0
    assert cost_of(unlike, [block]).broken == 1


def test_lateness_counts_by_weight() -> None:
    problem = two_lane_problem([(0, 0, 600, 7200, 100, 0)])
    heavy = replace(problem, jobs=(replace(problem.jobs[0], weight=5.0),))
    block = make_block(problem, ((ON_A, (0,)),))

    late_s = cost_of(problem, [block]).late_s

    assert late_s == pytest.approx(block.print_s - 100)
    assert cost_of(heavy, [make_block(heavy, ((ON_A, (0,)),))]).late_s == pytest.approx(5 * late_s)
