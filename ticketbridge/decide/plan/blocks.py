"""A block: what prints side by side without a stop, and how long it takes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ticketbridge.decide.plan.problem import Problem

Row = tuple[int, tuple[int, ...]]
"""A stand and the jobs printed there, in order."""


@dataclass(frozen=True, slots=True)
class Block:
    """Rows that start together after one stop: one setup, one roll on each lane.

    Attributes:
        press: Its press.
        setup: The setup of all its jobs.
        rows: At most one for each lane.
        print_s: From the first sweep to the last.
        ends_s: When each job has passed under the head, from the first sweep.
        feed_mm: Length of roll used, by row.
        slacks_s: For each job that has a due time, rising: the latest start of the block that keeps it.
        weights: ``weights[n]``: sum of the weights of the first n of these.
        offsets: ``offsets[n]``: sum of weight x slack of the first n.
        lowest_rank: Of its jobs.
        highest_rank: Of its jobs.
        out_of_rank: Jobs that follow one of a higher rank in their row.
    """

    press: int
    setup: int
    rows: tuple[Row, ...]
    print_s: float
    ends_s: tuple[tuple[int, float], ...]
    feed_mm: tuple[float, ...]
    slacks_s: tuple[float, ...]
    weights: tuple[float, ...]
    offsets: tuple[float, ...]
    lowest_rank: int
    highest_rank: int
    out_of_rank: int


def make_block(problem: Problem, rows: tuple[Row, ...]) -> Block:
    """The block of these rows. All their jobs have one setup, and their stands may print side by side."""
    press = problem.stands[rows[0][0]].press
    jobs = problem.jobs
    print_s, ends = _printed(problem, press, rows)
    slacks = sorted((jobs[job].due_s - end, jobs[job].weight) for job, end in ends)
    weights, offsets = [0.0], [0.0]
    for slack, weight in slacks:
        weights.append(weights[-1] + weight)
        offsets.append(
            offsets[-1] + weight * slack if slack < 1e18 else 0.0
        )  # without due time: never reached
    ranks = [jobs[job].rank for _, row in rows for job in row]
    gap = problem.presses[press].job_gap_mm
    return Block(
        press=press,
        setup=jobs[rows[0][1][0]].setup,
        rows=rows,
        print_s=print_s,
        ends_s=tuple(ends),
        feed_mm=tuple(
            sum(jobs[job].images[stand].length_mm for job in row) + gap * len(row) for stand, row in rows
        ),
        slacks_s=tuple(slack for slack, _ in slacks),
        weights=tuple(weights),
        offsets=tuple(offsets),
        lowest_rank=min(ranks),
        highest_rank=max(ranks),
        out_of_rank=sum(jobs[one].rank > jobs[other].rank for _, row in rows for one, other in pairwise(row)),
    )


def _printed(problem: Problem, press: int, rows: tuple[Row, ...]) -> tuple[float, list[tuple[int, float]]]:
    """Seconds of the block, and when each job is done, the passing of the last line included."""
    floor = problem.presses[press]
    carriage = floor.carriage
    jobs = problem.jobs
    per_mm = floor.sweeps_per_mm[jobs[rows[0][1][0]].setup]
    if len(rows) == 1:
        stand, row = rows[0]
        t = pace = 0.0
        ends = []
        for job in row:
            image = jobs[job].images[stand]
            pace = per_mm * carriage.sweep_s(image.right_mm - image.left_mm)
            t += image.length_mm * pace
            ends.append((job, t))
    else:
        t, ends, pace = _printed_side_by_side(problem, press, rows, per_mm)
    tail = carriage.head_swath_mm * pace
    return t + tail, [(job, end + tail) for job, end in ends]


def _printed_side_by_side(
    problem: Problem, press: int, rows: tuple[Row, ...], per_mm: float
) -> tuple[float, list[tuple[int, float]], float]:
    """The same for rows side by side; last of all the seconds per mm at the end.

    Along the feed, from cut to cut: a cut is where a job begins or ends on any lane. Where no lane prints
    the roll is fed without sweeping, which takes no time worth counting.
    """
    floor = problem.presses[press]
    sweep_s = floor.carriage.sweep_s
    segments = [_segments(problem, stand, row, floor.job_gap_mm) for stand, row in rows]
    cuts = sorted({edge for row in segments for start, end, *_ in row for edge in (start, end)})
    at = [0] * len(rows)
    t = pace = 0.0
    ends = []
    for here, there in pairwise(cuts):
        left, right = 1e18, -1.0
        for index, row in enumerate(segments):
            if at[index] < len(row) and row[at[index]][0] <= here:
                _, _, job_left, job_right, _ = row[at[index]]
                left = min(left, job_left)
                right = max(right, job_right)
        if right >= left:
            pace = per_mm * sweep_s(right - left)
            t += (there - here) * pace
        for index, row in enumerate(segments):
            if at[index] < len(row) and row[at[index]][1] == there:
                ends.append((row[at[index]][4], t))
                at[index] += 1
    return t, ends, pace


def _segments(
    problem: Problem, stand: int, row: Sequence[int], gap_mm: float
) -> list[tuple[float, float, float, float, int]]:
    """Where each job of a row lies: (start, end, left edge, right edge, job), in mm."""
    found = []
    at_mm = 0.0
    for job in row:
        image = problem.jobs[job].images[stand]
        end_mm = at_mm + image.length_mm
        found.append((at_mm, end_mm, image.left_mm, image.right_mm, job))
        at_mm = end_mm + gap_mm
    return found
