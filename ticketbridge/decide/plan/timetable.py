"""What a plan costs, and when each job is done: a simulation of the presses, the one model that all plans share."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt

from ticketbridge.decide.plan.blocks import Block
from ticketbridge.decide.plan.problem import NOTHING, PlanPress, Problem

Plan = tuple[Block, ...]
"""Blocks in order; those of one press follow one another."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a plan comes to.

    Attributes:
        late_s: Sum of weight x seconds late.
        finish_s: When the last press is done.
        press_s: Sum over the presses of when each is done, less the hours in which nobody is there to begin.
        roll_changes: Rolls put on.
        setup_changes: Changes of mode, layers or underlay.
        broken: How often the plan does what it may not: a lower rank after a higher one, a roll that is too
            short, rolls too unlike for a common shaft. A plan that can be followed has none.
    """

    late_s: float
    finish_s: float
    press_s: float
    roll_changes: int
    setup_changes: int
    broken: int


@dataclass(slots=True)
class _Floor:
    """One press while the plan is played through."""

    press: PlanPress
    t: float
    setup: int
    highest_rank: int
    loaded: dict[int, int]
    left_mm: dict[int, float]
    closed_s: float = 0.0


def cost_of(problem: Problem, plan: Sequence[Block]) -> Cost:
    """Play a plan through."""
    return play(problem, plan, None)


def play(problem: Problem, plan: Sequence[Block], starts_s: list[float] | None) -> Cost:
    """Play a plan through, and note when each block begins to print."""
    floors = [
        _Floor(p, p.free_at_s, p.setup, NOTHING, dict(p.loaded), dict(p.left_mm)) for p in problem.presses
    ]
    stock: dict[int, list[float]] = {}
    late = 0.0
    rolls = setups = broken = 0
    for block in plan:
        floor = floors[block.press]
        press = floor.press
        t = floor.t
        if press.hours:
            t = _open_from(press.hours, t)
            floor.closed_s += t - floor.t
        if floor.setup != block.setup:
            if floor.setup != NOTHING:
                t += press.change_s[floor.setup][block.setup]
                setups += 1
            floor.setup = block.setup
        for index, (stand_index, _) in enumerate(block.rows):
            stand = problem.stands[stand_index]
            changes, missing = _load(problem, floor, stand.lane, stand.roll, block.feed_mm[index], stock)
            if changes:
                t += changes * press.roll_change_s
                rolls += changes
                broken += missing
        if press.diameter_tolerance_mm is not None and len(block.rows) > 1:
            broken += _unlike(problem, floor, block, press.diameter_tolerance_mm)
        if block.lowest_rank < floor.highest_rank:
            broken += 1
        if block.highest_rank > floor.highest_rank:
            floor.highest_rank = block.highest_rank
        broken += block.out_of_rank
        late_jobs = bisect_left(block.slacks_s, t)
        if late_jobs:
            late += block.weights[late_jobs] * t - block.offsets[late_jobs]
        if starts_s is not None:
            starts_s.append(t)
        floor.t = t + block.print_s
    ends = [floor.t for floor in floors]
    closed_s = sum(floor.closed_s for floor in floors)
    return Cost(late, max(ends), sum(ends) - closed_s, rolls, setups, broken)


def _open_from(hours: Sequence[tuple[float, float]], t: float) -> float:
    """The first moment from t on when somebody is there; after the last known shift, as if always."""
    for start, end in hours:
        if t < end:
            return max(t, start)
    return t


def _load(
    problem: Problem, floor: _Floor, lane: int, roll: int, need_mm: float, stock: dict[int, list[float]]
) -> tuple[int, int]:
    """Put on what a row needs: (rolls put on, 1 where no roll in the shop is long enough).

    What comes off a lane goes back to the shelf with what is left on it. The shortest roll that is long
    enough is taken, so that remnants are used up and long rolls are kept for long work (common practice).
    """
    for other in problem.overlapping[lane]:
        _unload(problem, floor, other, stock)
    if floor.loaded.get(lane, NOTHING) == roll:
        left = floor.left_mm.get(lane, inf)
        if left >= need_mm:
            if left < inf:
                floor.left_mm[lane] = left - need_mm
            return 0, 0
    _unload(problem, floor, lane, stock)
    floor.loaded[lane] = roll
    shelf = _shelf(problem, roll, stock)
    if shelf is None:
        return 1, 0
    enough = [length for length in shelf if length >= need_mm]
    if not enough:
        return 1, 1
    taken = min(enough)
    shelf.remove(taken)
    floor.left_mm[lane] = taken - need_mm
    return 1, 0


def _shelf(problem: Problem, roll: int, stock: dict[int, list[float]]) -> list[float] | None:
    lengths = problem.rolls[roll].stock_mm
    if lengths is None:
        return None
    if roll not in stock:
        stock[roll] = list(lengths)
    return stock[roll]


def _unload(problem: Problem, floor: _Floor, lane: int, stock: dict[int, list[float]]) -> None:
    roll = floor.loaded.pop(lane, NOTHING)
    left = floor.left_mm.pop(lane, None)
    if roll != NOTHING and left is not None:
        shelf = _shelf(problem, roll, stock)
        if shelf is not None:
            shelf.append(left)


def _unlike(problem: Problem, floor: _Floor, block: Block, tolerance_mm: float) -> int:
    """1 where the rolls of a block differ too much for a common shaft, at its start or at its end.

    Diameter from length: D = sqrt(d^2 + 4 L t / pi), d the outside of the core.
    """
    for used in (block.feed_mm, (0.0,) * len(block.rows)):
        across = []
        for (stand, _), feed in zip(block.rows, used, strict=True):
            lane, kind = problem.stands[stand].lane, problem.rolls[problem.stands[stand].roll]
            length = floor.left_mm.get(lane)
            if length is not None:
                area = (length + feed) * kind.thickness_um / 1000
                across.append(sqrt(kind.core_mm**2 + 4 * area / pi))
        if across and max(across) - min(across) > tolerance_mm:
            return 1
    return 0


def job_times(problem: Problem, plan: Sequence[Block]) -> dict[int, tuple[float, float]]:
    """When each job starts to print and when it is done.

    A job starts when the one before it in its row is done, as nobody's hands are needed between them.
    """
    starts: list[float] = []
    play(problem, plan, starts)
    times = {}
    for block, start in zip(plan, starts, strict=True):
        ends = dict(block.ends_s)
        for _, row in block.rows:
            begins = start
            for job in row:
                times[job] = (begins, start + ends[job])
                begins = start + ends[job]
    return times
