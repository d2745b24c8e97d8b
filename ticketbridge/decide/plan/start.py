"""Plain plans by a fixed order: what a search starts from, and what it is compared with."""

from collections.abc import Callable, Iterable, Sequence

from ticketbridge.decide.plan.blocks import Block, Row, make_block
from ticketbridge.decide.plan.problem import PlanJob, Problem
from ticketbridge.decide.plan.timetable import Plan, cost_of


def in_order(problem: Problem, order: Iterable[int]) -> Plan:
    """Job after job to the press that is done with it first, beside the one before where that can be.

    A job joins the last block of a press as a row of its own where it may print beside; otherwise it
    starts a block. Nobody joins a row that is there: this is what hands do without a plan.
    """
    plan = [make_block(problem, rows) for _, rows in problem.running.values()]
    running = {job for _, rows in problem.running.values() for _, row in rows for job in row}
    for job in order:
        if job not in running:
            plan = min(_ways(problem, plan, job), key=lambda way: _when_done(problem, way))
    return tuple(plan)


def _when_done(problem: Problem, plan: Sequence[Block]) -> tuple[int, float, float]:
    cost = cost_of(problem, plan)
    return (cost.broken, cost.finish_s, cost.press_s)


def _ways(problem: Problem, plan: list[Block], job: int) -> list[list[Block]]:
    """The plan with the job at its end, beside the last block of each press or after it."""
    ways = []
    wanted = problem.jobs[job]
    for stand in wanted.images:
        press = problem.stands[stand].press
        last = next((at for at in range(len(plan) - 1, -1, -1) if plan[at].press == press), None)
        row: Row = (stand, (job,))
        if last is not None and plan[last].setup == wanted.setup:
            rows = plan[last].rows
            if all(other in problem.beside[stand] for other, _ in rows):
                ways.append([*plan[:last], make_block(problem, (*rows, row)), *plan[last + 1 :]])
        ways.append([*plan, make_block(problem, (row,))])
    return ways


def sorted_by(problem: Problem, key: Callable[[PlanJob], tuple[float, ...]]) -> list[int]:
    """The jobs' indices in the order of a key; equal ones in the order they came."""
    return sorted(range(len(problem.jobs)), key=lambda index: key(problem.jobs[index]))
