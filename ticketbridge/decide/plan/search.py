"""The search for a good plan: simulated annealing over small changes, with a budget of steps and a seed.

Common practice for such problems: a change for the worse is taken with a chance that falls with its size
and, as the search goes on, with a temperature, so that it first moves freely and settles in the end. The
best plan seen is kept, so the answer is never worse than the plan it started from.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from typing import Final

from ticketbridge.decide.plan.blocks import Block
from ticketbridge.decide.plan.moves import Moves
from ticketbridge.decide.plan.problem import Problem
from ticketbridge.decide.plan.timetable import Cost, Plan, cost_of
from ticketbridge.decide.seeded import Seeded

BROKEN_S: Final = 1e7
"""What a broken rule counts: more than any lateness, so that no plan that breaks one wins."""


@dataclass(frozen=True, slots=True)
class Aim:
    """What a plan should be good at.

    Attributes:
        lateness: Seconds of press time that one weighted second of lateness is worth. 1 or more is lateness
            before time; a small share is for a press with more work than it can do in time.
        change_s: What each change counts besides its time, so that of two equal plans the one with fewer wins.
    """

    lateness: float = 1.0
    change_s: float = 1.0

    def score(self, cost: Cost) -> float:
        """One figure, in seconds: lower is better."""
        changes = cost.roll_changes + cost.setup_changes
        return (
            self.lateness * cost.late_s
            + (cost.finish_s + cost.press_s) / 2
            + self.change_s * changes
            + BROKEN_S * cost.broken
        )


@dataclass(frozen=True, slots=True)
class Budget:
    """How long to search.

    Attributes:
        steps: Changes to try.
        seed: Decides which.
        hottest: Temperature at the start and at the end, as shares of the mean press time of a job.
        coldest: See there.
    """

    steps: int = 20_000
    seed: int = 1
    hottest: float = 0.6
    coldest: float = 0.012


def improve(problem: Problem, start: Sequence[Block], aim: Aim, budget: Budget) -> Plan:
    """The best plan found. The same problem, start, aim and budget give the same plan."""
    current = list(start)
    if not problem.jobs or not current or budget.steps <= 0:
        return tuple(current)
    chance = Seeded(budget.seed)
    moves = Moves(problem, chance)
    score = aim.score(cost_of(problem, current))
    best, best_score = current, score
    unit_s = cost_of(problem, current).press_s / len(problem.jobs)
    temperature = max(unit_s * budget.hottest, 1e-9)
    cooling = (budget.coldest / budget.hottest) ** (1 / budget.steps)
    for _ in range(budget.steps):
        temperature *= cooling
        changed = moves.any(current)
        if changed is None or not keeps_running(problem, changed):
            continue
        # A change is taken where it is not worse than this; the logarithm turns the usual test around.
        limit = score - temperature * log(chance.fraction() + 1e-12)
        new_score = aim.score(cost_of(problem, changed))
        if new_score <= limit:
            current, score = changed, new_score
            if score < best_score - 1e-9:
                best, best_score = current, score
    return tuple(best)


def keeps_running(problem: Problem, plan: Sequence[Block]) -> bool:
    """Whether what runs stays first on its press and its lane."""
    for press, (_, rows) in problem.running.items():
        first = next(block for block in plan if block.press == press)
        now = dict(first.rows)
        if any(now.get(stand, ())[: len(jobs)] != jobs for stand, jobs in rows):
            return False
    return True
