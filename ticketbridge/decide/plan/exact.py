"""The best plan there is, for few jobs on presses that print one lane at a time.

Dynamic programming over sets of jobs (Held and Karp 1962, common practice for orders with changes between):
for each press and each set the earliest moment to have printed it, by its last job; then the sets are dealt
out to the presses. Work and memory double with every job, so it is for a dozen.
"""

from collections.abc import Sequence
from math import inf
from typing import Final

from ticketbridge.decide.plan.blocks import make_block
from ticketbridge.decide.plan.problem import NOTHING, Problem
from ticketbridge.decide.plan.timetable import Plan

MOST_JOBS: Final = 12


def can_be_exact(problem: Problem) -> bool:
    """Whether ``earliest_finish`` answers: few jobs, one lane a press, nothing that depends on the hour or the roll."""
    one_lane = not any(problem.beside) and not any(problem.overlapping)
    plain = not any(press.hours for press in problem.presses) and not problem.running
    endless = all(roll.stock_mm is None for roll in problem.rolls)
    ranked = len({job.rank for job in problem.jobs}) > 1
    one_place = all(
        len({problem.stands[stand].press for stand in job.images}) == len(job.images) for job in problem.jobs
    )
    return len(problem.jobs) <= MOST_JOBS and one_lane and plain and endless and one_place and not ranked


def earliest_finish(problem: Problem) -> Plan:
    """A plan whose last press is done as early as any plan's can be. Ask ``can_be_exact`` first."""
    count = len(problem.jobs)
    everything = (1 << count) - 1
    tables = [_PressTable(problem, press) for press in range(len(problem.presses))]
    finish = [table.earliest for table in tables]
    dealt: list[list[int]] = []
    reached = finish[0]
    for mine in finish[1:]:
        reached, choice = _deal(reached, mine, everything)
        dealt.append(choice)
    plan: list[int] = []
    blocks = []
    rest = everything
    for press in range(len(tables) - 1, 0, -1):
        plan = tables[press].order(dealt[press - 1][rest])
        rest ^= dealt[press - 1][rest]
        blocks += [tables[press].block(job) for job in plan]
    blocks += [tables[0].block(job) for job in tables[0].order(rest)]
    return tuple(make_block(problem, ((stand, (job,)),)) for stand, job in blocks)


def _deal(before: Sequence[float], mine: Sequence[float], everything: int) -> tuple[list[float], list[int]]:
    """For each set of jobs: when it can be done if this press takes the best part of it, and that part."""
    best = list(before)
    choice = [0] * (everything + 1)
    for jobs in range(everything + 1):
        part = jobs
        while part:
            alone = mine[part]
            if alone < best[jobs]:
                with_others = max(alone, before[jobs ^ part])
                if with_others < best[jobs]:
                    best[jobs] = with_others
                    choice[jobs] = part
            part = (part - 1) & jobs
    return best, choice


class _PressTable:
    """One press: the earliest moment to have printed each set of jobs."""

    def __init__(self, problem: Problem, press: int) -> None:
        self._floor = problem.presses[press]
        count = len(problem.jobs)
        self._stand = [_stand_on(problem, job, press) for job in range(count)]
        self._takes = [self._seconds(problem, job) for job in range(count)]
        self._change = [[self._change_s(problem, a, b) for b in range(count)] for a in range(count)]
        self._first = [self._first_s(problem, job) for job in range(count)]
        self._done = self._fill(count)
        self.earliest = [self._floor.free_at_s, *(min(row) for row in self._done[1:])]

    def block(self, job: int) -> tuple[int, int]:
        """The stand of a job on this press, and the job."""
        return self._stand[job], job

    def order(self, jobs: int) -> list[int]:
        """The order in which a set is done earliest, read back from its end."""
        order: list[int] = []
        while jobs:
            after = self._change
            last = min(
                (job for job in range(len(self._takes)) if jobs >> job & 1),
                key=lambda job: self._done[jobs][job] + (after[job][order[-1]] if order else 0.0),
            )
            order.append(last)
            jobs ^= 1 << last
        return order[::-1]

    def _fill(self, count: int) -> list[list[float]]:
        change, takes = self._change, self._takes
        done = [[inf] * count for _ in range(1 << count)]
        for job in range(count):
            done[1 << job][job] = self._floor.free_at_s + self._first[job] + takes[job]
        for jobs in range(1, 1 << count):
            row = done[jobs]
            for last in range(count):
                here = row[last]
                if here == inf:
                    continue
                after = change[last]
                for job in range(count):
                    if not jobs >> job & 1:
                        then = here + after[job] + takes[job]
                        wider = done[jobs | 1 << job]
                        if then < wider[job]:
                            wider[job] = then
        return done

    def _seconds(self, problem: Problem, job: int) -> float:
        stand = self._stand[job]
        return inf if stand == NOTHING else make_block(problem, ((stand, (job,)),)).print_s

    def _change_s(self, problem: Problem, one: int, other: int) -> float:
        a, b = self._stand[one], self._stand[other]
        if NOTHING in (a, b):
            return inf
        roll = self._floor.roll_change_s if problem.stands[a].roll != problem.stands[b].roll else 0.0
        return roll + self._floor.change_s[problem.jobs[one].setup][problem.jobs[other].setup]

    def _first_s(self, problem: Problem, job: int) -> float:
        if self._stand[job] == NOTHING:
            return inf
        stand, setup = problem.stands[self._stand[job]], self._floor.setup
        loaded = self._floor.loaded.get(stand.lane) == stand.roll
        change = 0.0 if setup == NOTHING else self._floor.change_s[setup][problem.jobs[job].setup]
        return change + (0.0 if loaded else self._floor.roll_change_s)


def _stand_on(problem: Problem, job: int, press: int) -> int:
    found = (stand for stand in problem.jobs[job].images if problem.stands[stand].press == press)
    return next(found, NOTHING)
