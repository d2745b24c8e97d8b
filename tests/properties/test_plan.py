"""Whatever the search does to a plan, it stays a plan: every job once, and every rule of a block kept."""

from hypothesis import given
from hypothesis import strategies as st

from tests.unit.decide.plan.made import two_lane_problem
from ticketbridge.decide.plan.blocks import Block
from ticketbridge.decide.plan.bound import least_press_s
from ticketbridge.decide.plan.moves import Moves
from ticketbridge.decide.plan.problem import Problem
from ticketbridge.decide.plan.search import Aim, Budget, improve, keeps_running
from ticketbridge.decide.plan.start import in_order
from ticketbridge.decide.plan.timetable import cost_of, job_times
from ticketbridge.decide.seeded import Seeded


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    jobs = [
        (
            draw(st.integers(0, 2)),
            draw(st.integers(0, 2)),
            draw(st.sampled_from([300, 700, 1500, 2500])),
            draw(st.integers(200, 20_000)),
            draw(st.sampled_from([600, 7_200, 1e9])),
            draw(st.integers(0, 1)),
        )
        for _ in range(draw(st.integers(1, 9)))
    ]
    return two_lane_problem(jobs, beam=draw(st.booleans()), stock=draw(st.booleans()))


def assert_is_a_plan(problem: Problem, plan: "list[Block] | tuple[Block, ...]") -> None:
    printed = [job for block in plan for _, row in block.rows for job in row]
    assert sorted(printed) == list(range(len(problem.jobs)))
    for block in plan:
        assert {problem.jobs[job].setup for _, row in block.rows for job in row} == {block.setup}
        for stand, row in block.rows:
            assert all(stand in problem.jobs[job].images for job in row)
            assert all(other in problem.beside[stand] for other, _ in block.rows if other != stand)
        assert len({stand for stand, _ in block.rows}) == len(block.rows)


@given(problems(), st.integers(0, 1000))
def test_every_change_leaves_every_job_printed_once_by_the_rules(problem: Problem, seed: int) -> None:
    plan = list(in_order(problem, range(len(problem.jobs))))
    assert_is_a_plan(problem, plan)
    moves = Moves(problem, Seeded(seed))

    for _ in range(60):
        changed = moves.any(plan)
        if changed is not None:
            assert_is_a_plan(problem, changed)
            plan = changed


@given(problems(), st.integers(0, 1000))
def test_no_plan_takes_less_than_the_proven_bound(problem: Problem, seed: int) -> None:
    plan = improve(problem, in_order(problem, range(len(problem.jobs))), Aim(0.0), Budget(150, seed))

    assert cost_of(problem, plan).press_s >= least_press_s(problem) - 1e-6


@given(problems())
def test_a_search_never_makes_a_plan_worse_and_repeats_itself(problem: Problem) -> None:
    start = in_order(problem, range(len(problem.jobs)))

    once, again = (improve(problem, start, Aim(), Budget(80)) for _ in range(2))

    assert Aim().score(cost_of(problem, once)) <= Aim().score(cost_of(problem, start)) + 1e-6
    assert once == again


@given(problems(), st.data())
def test_what_runs_stays_where_it_runs(problem: Problem, data: st.DataObject) -> None:
    job = data.draw(st.integers(0, len(problem.jobs) - 1))
    stand = data.draw(st.sampled_from(sorted(problem.jobs[job].images)))
    running = Problem(
        **{name: getattr(problem, name) for name in Problem.__slots__ if name != "running"},
        running={0: (problem.jobs[job].setup, ((stand, (job,)),))},
    )

    plan = improve(running, in_order(running, range(len(problem.jobs))), Aim(), Budget(120))

    assert keeps_running(running, plan)
    assert_is_a_plan(running, plan)
    assert job_times(running, plan)[job][0] == min(start for start, _ in job_times(running, plan).values())
