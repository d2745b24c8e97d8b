"""Why a job stands where it stands in a plan: what every other place would cost, by the same model."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ticketbridge.decide.plan.blocks import Block, Row, make_block
from ticketbridge.decide.plan.problem import Problem
from ticketbridge.decide.plan.search import BROKEN_S, Aim, keeps_running
from ticketbridge.decide.plan.timetable import cost_of, job_times


@dataclass(frozen=True, slots=True)
class OtherPlace:
    """What would be, were one job printed elsewhere.

    Attributes:
        lane: The lane, as an index.
        start_s: When it would begin.
        end_s: When it would be printed.
        late_s: By how much all jobs together would be later, weighted; below 0 is less late.
        press_s: More press time.
        changes: More changes of rolls and setups.
        others_late: Jobs that would become later than due, or later than they are already.
        broken: Whether a rule would be broken: a higher priority printed later, a roll too short.
    """

    lane: int
    start_s: float
    end_s: float
    late_s: float
    press_s: float
    changes: int
    others_late: tuple[int, ...]
    broken: bool


def other_places(problem: Problem, plan: Sequence[Block], job: int, aim: Aim) -> list[OtherPlace]:
    """For every lane: the best place of the job there, and the best one earlier than now, where there are any."""
    now_start = job_times(problem, plan)[job][0]
    before = cost_of(problem, plan)
    best: dict[tuple[int, bool], tuple[float, OtherPlace]] = {}
    for changed, lane in _elsewhere(problem, plan, job):
        cost = cost_of(problem, changed)
        times = job_times(problem, changed)
        place = OtherPlace(
            lane=lane,
            start_s=times[job][0],
            end_s=times[job][1],
            late_s=cost.late_s - before.late_s,
            press_s=cost.press_s - before.press_s,
            changes=cost.roll_changes + cost.setup_changes - before.roll_changes - before.setup_changes,
            others_late=_later(problem, plan, times, job),
            broken=cost.broken > before.broken,
        )
        key = (lane, place.start_s < now_start - 1)
        score = aim.score(cost) + (BROKEN_S if place.broken else 0.0)
        if key not in best or score < best[key][0]:
            best[key] = (score, place)
    return [place for _, (_, place) in sorted(best.items())]


def _elsewhere(problem: Problem, plan: Sequence[Block], job: int) -> Iterator[tuple[list[Block], int]]:
    """Every plan that differs by the place of this one job, with the lane it then has."""
    without: list[Block] = []
    for block in plan:
        rows = tuple((stand, tuple(one for one in row if one != job)) for stand, row in block.rows)
        rows = tuple(row for row in rows if row[1])
        if rows:
            without.append(block if rows == block.rows else make_block(problem, rows))
    images = problem.jobs[job].images
    for at, block in enumerate(without):
        if block.setup == problem.jobs[job].setup:
            for rows, stand in _within(problem, block.rows, job):
                yield from _allowed(
                    problem, [*without[:at], make_block(problem, rows), *without[at + 1 :]], stand
                )
    for stand in images:
        alone = make_block(problem, ((stand, (job,)),))
        for at in range(len(without) + 1):
            yield from _allowed(problem, [*without[:at], alone, *without[at:]], stand)


def _allowed(problem: Problem, plan: list[Block], stand: int) -> Iterator[tuple[list[Block], int]]:
    if keeps_running(problem, plan):
        yield plan, problem.stands[stand].lane


def _within(problem: Problem, rows: tuple[Row, ...], job: int) -> Iterator[tuple[tuple[Row, ...], int]]:
    """The rows of a block with the job at every place it can have among them."""
    images = problem.jobs[job].images
    for index, (stand, row) in enumerate(rows):
        if stand in images:
            for place in range(len(row) + 1):
                longer = (*row[:place], job, *row[place:])
                yield (*rows[:index], (stand, longer), *rows[index + 1 :]), stand
    for stand in images:
        if all(other in problem.beside[stand] for other, _ in rows):
            yield (*rows, (stand, (job,))), stand


def _later(
    problem: Problem, plan: Sequence[Block], times: dict[int, tuple[float, float]], job: int
) -> tuple[int, ...]:
    before = job_times(problem, plan)
    return tuple(
        other
        for other, (_, end) in times.items()
        if other != job and end > problem.jobs[other].due_s and end > before[other][1] + 60
    )
