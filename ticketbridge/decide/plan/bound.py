"""How little press time any plan could take: a proven bound, so that everybody sees what is left to gain.

Four parts that every plan pays, whatever its order:

* Printing. Jobs that can stand side by side only with each other form a group. Two lanes overlap at most as
  long as the shorter of them is, and no job can be cut: of all ways to deal the group's lengths out to two
  lanes the most even one bounds the overlap (subset sums, exact to the mm). With a carriage that always
  travels the full beam, the overlap is time saved. With one that travels over the images, a mm of overlap saves
  (width of the left image - distance of the two left edges + 4 x ramp) / speed + dwell, and the overlap is
  counted as if the jobs that save most were always the left ones.
* The last line of every group has to pass under the head.
* Each setup that is needed has to be changed to once, from whatever is nearest.
* Each kind of roll that no lane has loaded where it is needed has to be put on once.

With three or more lanes abreast, or jobs that may go to several presses, each job counts with the share that it
has at least: alone, or its part of the time in the best company, whichever is less.
"""

from collections.abc import Sequence
from math import inf
from typing import Final

from ticketbridge.decide.plan.problem import NOTHING, Problem

MOST_SUMS: Final = 400_000
"""Subset sums are kept in steps of a mm up to so many; longer groups in coarser steps, rounded down."""


def least_press_s(problem: Problem) -> float:
    """No plan of this problem is done with less press time, from now to the end of each press, added up."""
    if not problem.jobs:
        return sum(press.free_at_s for press in problem.presses)
    printing = sum(_least_printing_s(problem, group) for group in _groups(problem))
    starts = sum(press.free_at_s for press in problem.presses)
    return starts + printing + _setup_changes_s(problem) + _roll_changes_s(problem)


def _groups(problem: Problem) -> list[list[int]]:
    """Jobs of one setup that can share a block, directly or through others."""
    groups: list[tuple[set[int], list[int]]] = []
    for index, job in enumerate(problem.jobs):
        reach = set(job.images)
        for stand in job.images:
            reach |= problem.beside[stand]
        mine, members = set(reach), [index]
        rest = []
        for stands, jobs in groups:
            same_setup = problem.jobs[jobs[0]].setup == job.setup
            if same_setup and any(stand in mine for other in jobs for stand in problem.jobs[other].images):
                mine |= stands
                members += jobs
            else:
                rest.append((stands, jobs))
        groups = [*rest, (mine, members)]
    return [jobs for _, jobs in groups]


def _least_printing_s(problem: Problem, group: Sequence[int]) -> float:
    presses = {problem.stands[stand].press for job in group for stand in problem.jobs[job].images}
    abreast = max(_lanes_abreast(problem, press) for press in presses)
    tail = min(
        _pace(problem, job, stand) * problem.presses[problem.stands[stand].press].carriage.head_swath_mm
        for job in group
        for stand in problem.jobs[job].images
    )
    if len(presses) > 1 or abreast > 2:
        return tail + sum(_least_share_s(problem, group, job) for job in group)
    return tail + sum(_alone_s(problem, job) for job in group) - _most_saved_s(problem, group)


def _least_share_s(problem: Problem, group: Sequence[int], job: int) -> float:
    """The least that a job adds: alone, or its share of a block with the best company that it can have."""
    least = inf
    for stand, image in problem.jobs[job].images.items():
        alone = image.length_mm * _pace(problem, job, stand)
        company = [
            other.images[there]
            for other in (problem.jobs[one] for one in group if one != job)
            for there in problem.beside[stand]
            if there in other.images
        ]
        press = problem.stands[stand].press
        abreast = _lanes_abreast(problem, press)
        if company and problem.presses[press].carriage.beam_mm is None and abreast == 2:
            span = min(max(image.right_mm, one.right_mm) - min(image.left_mm, one.left_mm) for one in company)
            carriage, setup = problem.presses[press].carriage, problem.jobs[job].setup
            together = problem.presses[press].sweeps_per_mm[setup] * carriage.sweep_s(span)
            alone = min(alone, image.length_mm * together / 2)
        elif company:
            alone /= abreast
        least = min(least, alone)
    return least


def _lanes_abreast(problem: Problem, press: int) -> int:
    """How many lanes of a press can print at once, at most."""
    lanes = sorted({stand.lane for stand in problem.stands if stand.press == press})
    most = 1
    for lane in lanes:
        apart = [lane]
        for other in lanes:
            if other not in apart and not any(other in problem.overlapping[one] for one in apart):
                apart.append(other)
        most = max(most, len(apart))
    if not any(problem.beside[i] for i, stand in enumerate(problem.stands) if stand.press == press):
        return 1
    return most


def _pace(problem: Problem, job: int, stand: int) -> float:
    """Seconds per mm of a job printed alone."""
    press = problem.presses[problem.stands[stand].press]
    image = problem.jobs[job].images[stand]
    sweep_s = press.carriage.sweep_s(image.right_mm - image.left_mm)
    return press.sweeps_per_mm[problem.jobs[job].setup] * sweep_s


def _alone_s(problem: Problem, job: int) -> float:
    images = problem.jobs[job].images
    return min(image.length_mm * _pace(problem, job, stand) for stand, image in images.items())


def _most_saved_s(problem: Problem, group: Sequence[int]) -> float:
    """What printing side by side can save at most, for jobs of one press with two lanes abreast."""
    used = {stand for job in group for stand in problem.jobs[job].images}
    pairable = [
        job for job in group if any(problem.beside[stand] & used for stand in problem.jobs[job].images)
    ]
    lengths = {job: max(image.length_mm for image in problem.jobs[job].images.values()) for job in pairable}
    overlap = _most_overlap_mm(list(lengths.values()))
    saved = 0.0
    for gain, job in sorted(((_gain(problem, job, used), job) for job in pairable), reverse=True):
        together = min(overlap, lengths[job])
        saved += max(gain, 0.0) * together
        overlap -= together
    return saved


def _most_overlap_mm(lengths: Sequence[float]) -> float:
    """How long two lanes can print at once if no job is cut: the lesser sum of the most even division."""
    total = sum(lengths)
    grain = max(1.0, total / MOST_SUMS)
    sums = 1
    for length in lengths:
        sums |= sums << int(length / grain)
    whole = sum(int(length / grain) for length in lengths)
    even = (sums & ((1 << (whole // 2 + 1)) - 1)).bit_length() - 1
    return min(total - (whole - even) * grain, total / 2)


def _gain(problem: Problem, job: int, used: set[int]) -> float:
    """Seconds that a mm of this job saves at most when it is the left one of two."""
    best = -inf
    for stand, image in problem.jobs[job].images.items():
        press = problem.presses[problem.stands[stand].press]
        per_mm = press.sweeps_per_mm[problem.jobs[job].setup]
        if press.carriage.beam_mm is not None:
            best = max(best, per_mm * press.carriage.sweep_s(0))
            continue
        edges = [
            other.images[there].left_mm
            for other in problem.jobs
            for there in problem.beside[stand] & used
            if there in other.images and other.images[there].left_mm >= image.left_mm
        ]
        if edges:
            best = max(best, per_mm * press.carriage.sweep_s(image.right_mm - min(edges)))
    return best


def _setup_changes_s(problem: Problem) -> float:
    """Each setup that no press stands in is entered once, from the nearest other."""
    have = {press.setup for press in problem.presses}
    if NOTHING in have:
        return 0.0 if len(problem.presses) > 1 else _from_nothing_s(problem)
    return sum(_nearest_s(problem, setup) for setup in {job.setup for job in problem.jobs} - have)


def _from_nothing_s(problem: Problem) -> float:
    """The first setup is free; which one that is, is anybody's guess, so it is the dearest."""
    entries = [_nearest_s(problem, setup) for setup in {job.setup for job in problem.jobs}]
    return sum(entries) - max(entries)


def _nearest_s(problem: Problem, setup: int) -> float:
    """The cheapest change to a setup; 0 where there is no other to come from."""
    return min(
        (
            press.change_s[other][setup]
            for press in problem.presses
            for other in range(len(problem.setups))
            if other != setup
        ),
        default=0.0,
    )


def _roll_changes_s(problem: Problem) -> float:
    """Jobs that find their roll on no lane that they could use need one put on; unlike jobs one each."""
    loaded = {(lane, roll) for press in problem.presses for lane, roll in press.loaded.items()}
    counted: set[int] = set()
    changes = 0
    for job in sorted(problem.jobs, key=lambda one: len(one.images)):
        stands = [problem.stands[stand] for stand in job.images]
        rolls = {stand.roll for stand in stands}
        if counted.isdisjoint(rolls) and not any((stand.lane, stand.roll) in loaded for stand in stands):
            counted |= rolls
            changes += 1
    return changes * min(press.roll_change_s for press in problem.presses)


def least_late_s(problem: Problem) -> float:
    """No plan is less late than this: each job printed at once, as if there were no other."""
    late = 0.0
    for index, job in enumerate(problem.jobs):
        free = min(problem.presses[problem.stands[stand].press].free_at_s for stand in job.images)
        late += job.weight * max(0.0, free + _alone_s(problem, index) - job.due_s)
    return late
