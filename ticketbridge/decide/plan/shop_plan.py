"""The plan of the shop: from the shop as it stands to a timetable with its figures."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from ticketbridge.decide.plan.blocks import Block
from ticketbridge.decide.plan.bound import least_late_s, least_press_s
from ticketbridge.decide.plan.exact import can_be_exact, earliest_finish
from ticketbridge.decide.plan.problem import PlanJob, Problem
from ticketbridge.decide.plan.search import Aim, Budget, improve
from ticketbridge.decide.plan.shop_problem import ShopNow, ShopProblem, shop_problem
from ticketbridge.decide.plan.start import in_order, sorted_by
from ticketbridge.decide.plan.timetable import Plan, cost_of, job_times, play
from ticketbridge.model.plan import PlanFigures, PlannedJob, ShopPlan

AIM: Final = Aim(lateness=1.0, change_s=1.0)
"""In a shop lateness comes before press time: a weighted second late counts as a second of press time, and as a
rule many jobs wait behind one. Then time; and of two equal plans the one with fewer changes."""

MOST_JOBS: Final = 200
"""Jobs that are planned at once, the most urgent ones; what comes after them changes before its turn comes."""


@dataclass(frozen=True, slots=True)
class PlannedShop:
    """The plan as people see it, and what it was made of, for whoever asks why."""

    plan: ShopPlan
    now: ShopNow
    facts: ShopProblem
    blocks: Plan


def plan_shop(now: ShopNow, budget: Budget) -> PlannedShop:
    """The best plan that the budget finds, beside first come, first served."""
    facts = shop_problem(now)
    problem = facts.problem
    first_come = _first_come(now, problem)
    blocks, exact = _best(problem, first_come, budget)
    return PlannedShop(_told(now, facts, blocks, first_come, exact=exact), now, facts, blocks)


def _best(problem: Problem, first_come: Plan, budget: Budget) -> tuple[Plan, bool]:
    """The best of: improved from the best simple order, and exact where the question is small and has no due times."""
    starts = [
        first_come,
        in_order(problem, sorted_by(problem, _by_due)),
        in_order(problem, sorted_by(problem, _by_setup)),
    ]
    start = min(starts, key=lambda plan: AIM.score(cost_of(problem, plan)))
    if can_be_exact(problem) and not any(job.due_s < 1e18 for job in problem.jobs):
        return earliest_finish(problem), True
    return improve(problem, start, AIM, budget), False


def _by_due(job: PlanJob) -> tuple[float, ...]:
    return (job.rank, job.due_s)


def _by_setup(job: PlanJob) -> tuple[float, ...]:
    return (job.rank, job.setup, min(job.images), job.due_s)


def _first_come(now: ShopNow, problem: Problem) -> Plan:
    """By priority, then in the order the jobs came: what a press does without a plan."""
    number = {one.standing.queue_entry_id: one.standing.number for one in (*now.waiting, *now.given)}
    return in_order(problem, sorted_by(problem, lambda job: (job.rank, number[job.name])))


def _told(now: ShopNow, facts: ShopProblem, blocks: Plan, first_come: Plan, *, exact: bool) -> ShopPlan:
    problem = facts.problem
    return ShopPlan(
        made_at=now.now,
        jobs=tuple(sorted(_planned(now, facts, blocks), key=lambda job: (job.starts_at, job.device_id))),
        unplanned=facts.unplanned,
        figures=figures_of(now, problem, blocks),
        first_come=figures_of(now, problem, first_come),
        least_press_hours=least_press_s(problem) / 3600,
        least_late_hours=least_late_s(problem) / 3600,
        exact=exact,
    )


def figures_of(now: ShopNow, problem: Problem, blocks: Plan) -> PlanFigures:
    """What a plan comes to, in hours and moments."""
    cost = cost_of(problem, blocks)
    times = job_times(problem, blocks)
    return PlanFigures(
        late_hours=cost.late_s / 3600,
        late_jobs=sum(end > problem.jobs[job].due_s for job, (_, end) in times.items()),
        press_hours=cost.press_s / 3600,
        finish_at=now.now + timedelta(seconds=cost.finish_s),
        roll_changes=cost.roll_changes,
        setup_changes=cost.setup_changes,
        broken=cost.broken,
    )


def _planned(now: ShopNow, facts: ShopProblem, blocks: Plan) -> list[PlannedJob]:
    problem = facts.problem
    times = job_times(problem, blocks)
    starts: list[float] = []
    play(problem, blocks, starts)
    known = {one.standing.queue_entry_id: one.standing for one in (*now.waiting, *now.given)}
    running = {job for _, rows in problem.running.values() for _, row in rows for job in row}
    free: dict[int, float] = {}
    printed: dict[int, int] = {}
    stops: dict[int, int] = {}
    found = []
    for block, start in zip(blocks, starts, strict=True):
        press = problem.presses[block.press]
        changes_s = max(0.0, free.get(block.press, press.free_at_s))
        free[block.press] = start + block.print_s
        stops[block.press] = stops.get(block.press, 0) + 1
        for job, stand in sorted(_jobs_of(block), key=lambda one: times[one[0]]):
            printed[block.press] = printed.get(block.press, 0) + 1
            standing = known[problem.jobs[job].name]
            begins, ends = times[job]
            found.append(
                PlannedJob(
                    queue_entry_id=standing.queue_entry_id,
                    job_id=standing.job_id,
                    device_id=facts.devices[problem.stands[stand].lane],
                    press=press.name,
                    roll=problem.rolls[problem.stands[stand].roll].name,
                    setup=problem.setups[problem.jobs[job].setup],
                    position=printed[block.press],
                    block=stops[block.press],
                    given=job in running,
                    changes_at=now.now + timedelta(seconds=changes_s),
                    starts_at=now.now + timedelta(seconds=begins),
                    ends_at=now.now + timedelta(seconds=ends),
                    due=standing.due,
                    beside=_beside(problem, block, stand, times[job], times),
                )
            )
    return found


def _jobs_of(block: Block) -> list[tuple[int, int]]:
    return [(job, stand) for stand, row in block.rows for job in row]


def _beside(
    problem: Problem,
    block: Block,
    stand: int,
    mine: tuple[float, float],
    times: dict[int, tuple[float, float]],
) -> tuple[str, ...]:
    """Who prints on other lanes of the block for a moment of this job's time."""
    others: Sequence[int] = [job for other, row in block.rows if other != stand for job in row]
    return tuple(
        problem.jobs[job].name for job in others if times[job][0] < mine[1] and times[job][1] > mine[0]
    )
