"""Small changes of a plan: what the search tries. Each gives another plan, or None where it cannot be done.

A plan is a list of blocks; moves make new lists and new blocks, so that the old plan stays as it is.
"""

from collections.abc import Callable, Sequence
from typing import Final

from ticketbridge.decide.plan.blocks import Block, Row, make_block
from ticketbridge.decide.plan.problem import Problem
from ticketbridge.decide.seeded import Seeded

Move = Callable[["Moves", list[Block]], list[Block] | None]


class Moves:
    """The changes that can be made to plans of one problem."""

    def __init__(self, problem: Problem, chance: Seeded) -> None:
        self._problem = problem
        self._chance = chance
        self._stand_at = problem.stand_at()
        self._makes: dict[tuple[Row, ...], Block] = {}

    def any(self, plan: list[Block]) -> list[Block] | None:
        """One change picked by chance; None where it came to nothing."""
        draw = self._chance.below(100)
        for share, move in MOVES:
            draw -= share
            if draw < 0:
                return move(self, plan)
        return None

    def move_job(self, plan: list[Block]) -> list[Block] | None:
        """A job to another place: in its row, its block, another block of its setup, or one of its own."""
        at, block, index = self._row(plan)
        stand, row = block.rows[index]
        place = self._chance.below(len(row))
        job = row[place]
        rest = _with_row(block.rows, index, row[:place] + row[place + 1 :])
        if len(plan) > 1 and self._chance.below(12) == 0:
            if not rest:
                return None
            stands = list(self._problem.jobs[job].images)
            stand = stands[self._chance.below(len(stands))]
            return self._apart(plan, at, rest, ((stand, (job,)),))
        to = self._same_setup(plan, block.setup)
        rows = rest if to == at else plan[to].rows
        if not rows:
            return None
        rows_with = self._put(rows, job)
        if rows_with is None:
            return None
        if to == at:
            return self._replaced(plan, {at: rows_with})
        return self._replaced(plan, {at: rest, to: rows_with})

    def move_row(self, plan: list[Block]) -> list[Block] | None:
        """All jobs of a row: before, after or beside those of another block, or into a block of their own."""
        at, block, index = self._row(plan)
        stand, row = block.rows[index]
        rest = block.rows[:index] + block.rows[index + 1 :]
        to = self._same_setup(plan, block.setup)
        if to == at or self._chance.below(7) == 0:
            return self._apart(plan, at, rest, ((stand, row),)) if rest else None
        target = plan[to].rows
        stands = self._stands_of(row)
        own = [k for k, (other, _) in enumerate(target) if other in stands]
        new = [one for one in stands if self._fits(target, one)]
        if not own and not new:
            return None
        pick = self._chance.below(len(own) + len(new))
        if pick < len(own):
            _, jobs = target[own[pick]]
            joined = jobs + row if self._chance.below(2) else row + jobs
            rows = _with_row(target, own[pick], joined)
        else:
            rows = (*target, (new[pick - len(own)], row))
        return self._replaced(plan, {at: rest, to: rows})

    def swap_jobs(self, plan: list[Block]) -> list[Block] | None:
        """Two jobs of one setup change places."""
        at, block, index = self._row(plan)
        to = self._same_setup(plan, block.setup)
        other = plan[to]
        there = self._chance.below(len(other.rows))
        stand, row = block.rows[index]
        other_stand, other_row = other.rows[there]
        a, b = self._chance.below(len(row)), self._chance.below(len(other_row))
        one, two = row[a], other_row[b]
        images = self._problem.jobs
        if one == two or other_stand not in images[one].images or stand not in images[two].images:
            return None
        if at == to and index == there:
            swapped = list(row)
            swapped[a], swapped[b] = two, one
            return self._replaced(plan, {at: _with_row(block.rows, index, tuple(swapped))})
        mine = (*row[:a], two, *row[a + 1 :])
        theirs = (*other_row[:b], one, *other_row[b + 1 :])
        if at == to:
            rows = _with_row(_with_row(block.rows, index, mine), there, theirs)
            return self._replaced(plan, {at: rows})
        return self._replaced(
            plan, {at: _with_row(block.rows, index, mine), to: _with_row(other.rows, there, theirs)}
        )

    def move_blocks(self, plan: list[Block]) -> list[Block] | None:
        """A block, or a few that follow one another, to another moment."""
        if len(plan) < 2:
            return None
        at = self._chance.below(len(plan))
        most = 3 if self._chance.below(2) else max(1, len(plan) // 3)
        run = plan[at : at + 1 + self._chance.below(most)]
        rest = plan[:at] + plan[at + len(run) :]
        to = self._chance.below(len(rest) + 1)
        return None if to == at else rest[:to] + run + rest[to:]

    def swap_blocks(self, plan: list[Block]) -> list[Block] | None:
        """Two blocks change places."""
        a, b = self._chance.below(len(plan)), self._chance.below(len(plan))
        if a == b:
            return None
        changed = plan[:]
        changed[a], changed[b] = changed[b], changed[a]
        return changed

    def swap_lanes(self, plan: list[Block]) -> list[Block] | None:
        """The rows of a block change lanes; a row alone goes to another lane."""
        at = self._chance.below(len(plan))
        rows = plan[at].rows
        if len(rows) == 1:
            stand, row = rows[0]
            others = [one for one in self._stands_of(row) if one != stand]
            if not others:
                return None
            return self._replaced(plan, {at: ((others[self._chance.below(len(others))], row),)})
        a = self._chance.below(len(rows))
        b = (a + 1 + self._chance.below(len(rows) - 1)) % len(rows)
        stands = self._problem.stands
        one, other = stands[rows[a][0]], stands[rows[b][0]]
        there = self._stand_at.get((other.lane, one.roll))
        here = self._stand_at.get((one.lane, other.roll))
        if there is None or here is None:
            return None
        if there not in self._stands_of(rows[a][1]) or here not in self._stands_of(rows[b][1]):
            return None
        changed = list(rows)
        changed[a], changed[b] = (there, rows[a][1]), (here, rows[b][1])
        if not all(self._fits(changed[:k] + changed[k + 1 :], row[0]) for k, row in enumerate(changed)):
            return None
        return self._replaced(plan, {at: tuple(changed)})

    def split(self, plan: list[Block]) -> list[Block] | None:
        """A block in two, cut at about the same share of every row."""
        at, block, _ = self._row(plan)
        share = self._chance.fraction()
        first, second = [], []
        for stand, row in block.rows:
            cut = round(share * len(row))
            if row[:cut]:
                first.append((stand, row[:cut]))
            if row[cut:]:
                second.append((stand, row[cut:]))
        if not first or not second:
            return None
        return self._apart(plan, at, tuple(first), tuple(second))

    def _row(self, plan: list[Block]) -> tuple[int, Block, int]:
        at = self._chance.below(len(plan))
        block = plan[at]
        return at, block, self._chance.below(len(block.rows)) if len(block.rows) > 1 else 0

    def _same_setup(self, plan: list[Block], setup: int) -> int:
        same = [index for index, block in enumerate(plan) if block.setup == setup]
        return same[self._chance.below(len(same))]

    def _put(self, rows: tuple[Row, ...], job: int) -> tuple[Row, ...] | None:
        """A job into one of these rows, or into a row of its own beside them."""
        images = self._problem.jobs[job].images
        own = [index for index, (stand, _) in enumerate(rows) if stand in images]
        new = [stand for stand in images if self._fits(rows, stand)]
        if not own and not new:
            return None
        pick = self._chance.below(len(own) + len(new))
        if pick >= len(own):
            return (*rows, (new[pick - len(own)], (job,)))
        _, row = rows[own[pick]]
        place = self._chance.below(len(row) + 1)
        return _with_row(rows, own[pick], (*row[:place], job, *row[place:]))

    def _fits(self, rows: Sequence[Row], stand: int) -> bool:
        beside = self._problem.beside[stand]
        return all(other in beside for other, _ in rows)

    def _stands_of(self, row: Sequence[int]) -> list[int]:
        """Stands on which all jobs of a row can be printed."""
        jobs = self._problem.jobs
        return [stand for stand in jobs[row[0]].images if all(stand in jobs[job].images for job in row[1:])]

    def _apart(
        self, plan: list[Block], at: int, stays: tuple[Row, ...], goes: tuple[Row, ...]
    ) -> list[Block]:
        """Rows taken out of a block into one of their own, beside it in time or anywhere."""
        changed = plan[:]
        changed[at] = self._make(stays)
        to = at + self._chance.below(2) if self._chance.below(2) else self._chance.below(len(plan) + 1)
        changed.insert(to, self._make(goes))
        return changed

    def _replaced(self, plan: list[Block], rows_at: dict[int, tuple[Row, ...]]) -> list[Block]:
        changed = plan[:]
        gone = -1
        for at, rows in rows_at.items():
            if rows:
                changed[at] = self._make(rows)
            else:
                gone = at
        if gone >= 0:
            del changed[gone]
        return changed

    def _make(self, rows: tuple[Row, ...]) -> Block:
        """Blocks are made again and again, so the last few thousand are kept."""
        known = self._makes.get(rows)
        if known is None:
            if len(self._makes) > 50_000:
                self._makes.clear()
            known = self._makes[rows] = make_block(self._problem, rows)
        return known


def _with_row(rows: tuple[Row, ...], index: int, jobs: tuple[int, ...]) -> tuple[Row, ...]:
    """The rows with other jobs in one of them; without it where there are none."""
    if not jobs:
        return rows[:index] + rows[index + 1 :]
    return (*rows[:index], (rows[index][0], jobs), *rows[index + 1 :])


MOVES: Final[tuple[tuple[int, Move], ...]] = (
    (36, Moves.move_job),
    (18, Moves.move_row),
    (14, Moves.swap_jobs),
    (12, Moves.move_blocks),
    (6, Moves.swap_blocks),
    (8, Moves.swap_lanes),
    (6, Moves.split),
)
"""How many of a hundred tries go to each."""
