"""What no packing can beat: bounds on the length, by weighing widths instead of measuring them.

A dual feasible function weighs every width so that whatever fits beside each other weighs no more than the
strip. Then no packing is shorter than the sum of weight x height, divided by the weight of the strip. The plain
area is the simplest of them. The three families here are those of Fekete and Schepers (2001) and of Carlier,
Clautiaux and Moukrim (2007), from memory.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from ticketbridge.decide.layout.packing.problem import PackingProblem

MOST_ROUNDINGS: Final = 40
"""Rounding to finer shares of the strip than this adds nothing to what the area says."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A dual feasible function, for the sizes at hand.

    Attributes:
        capacity: What the strip weighs.
        weights: By size.
    """

    capacity: int
    weights: dict[int, int]


def length_bound(problem: PackingProblem) -> int:
    """The best of the bounds, as a length that can be."""
    widths = {width for ways in problem.shapes for width, _ in ways}
    tallest = max(min(height for _, height in ways) for ways in problem.shapes)
    by_weight = (bound_of(weighing, problem) for weighing in weighings(problem.width, widths))
    return problem.up_to_step(max(tallest, *by_weight))


def bound_of(weighing: Weighing, problem: PackingProblem) -> int:
    """The bound that one weighing gives; a piece weighs as little as the way it may lie lets it."""
    weights = weighing.weights
    total = sum(
        count * min(weights[width] * height for width, height in ways)
        for count, ways in zip(problem.counts, problem.shapes, strict=True)
    )
    return -(-total // weighing.capacity)


def weighings(capacity: int, sizes: Iterable[int]) -> Iterator[Weighing]:
    """All weighings worth a try for pieces of these sizes, the plain size first."""
    sizes = sorted(set(sizes))
    yield Weighing(capacity, {size: size for size in sizes})
    for threshold in sizes:
        if 2 * threshold <= capacity:
            yield Weighing(capacity, {size: _raised(size, threshold, capacity) for size in sizes})
            most = 2 * (capacity // threshold)
            yield Weighing(most, {size: _counted(size, threshold, capacity) for size in sizes})
    for share in range(1, MOST_ROUNDINGS):
        yield Weighing(share * capacity, {size: _rounded(size, share, capacity) for size in sizes})


def _raised(size: int, threshold: int, capacity: int) -> int:
    """What leaves less than the threshold beside it counts as the whole, and what is below it as nothing."""
    if size > capacity - threshold:
        return capacity
    return size if size >= threshold else 0


def _counted(size: int, threshold: int, capacity: int) -> int:
    """Twice how many thresholds it holds; more than half of the strip: what it does not leave to the others."""
    if 2 * size > capacity:
        return 2 * (capacity // threshold - (capacity - size) // threshold)
    return capacity // threshold if 2 * size == capacity else 2 * (size // threshold)


def _rounded(size: int, share: int, capacity: int) -> int:
    """In shares of the strip, rounded so that one more than the shares do not fit beside each other."""
    shares, rest = divmod(size * (share + 1), capacity)
    return size * share if rest == 0 else shares * capacity
