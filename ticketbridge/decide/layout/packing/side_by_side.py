"""Places beside each other for tasks whose times are fixed: the other half of the question whether boxes fit."""

from collections.abc import Sequence
from itertools import pairwise

from ticketbridge.decide.layout.packing.steps import Steps

Fixed = tuple[int, int, int]
"""When a task begins, when it ends, and how much it needs."""


class SideBySide:
    """Looks for the places, from the lowest on.

    Time is cut into slices at every beginning and end. A task lies on the highest of those below it; what stays
    empty below it may not be more than its slices have to spare.
    """

    def __init__(self, tasks: Sequence[Fixed], capacity: int, steps: Steps) -> None:
        cuts = sorted({moment for begin, end, _ in tasks for moment in (begin, end)})
        slice_at = {moment: number for number, moment in enumerate(cuts)}
        self._spans = [range(slice_at[begin], slice_at[end]) for begin, end, _ in tasks]
        self._needs = [need for _, _, need in tasks]
        self._steps = steps
        self._heights = [0 for _ in pairwise(cuts)]
        self._spare = [capacity] * len(self._heights)
        for span, need in zip(self._spans, self._needs, strict=True):
            for number in span:
                self._spare[number] -= need
        self._places: list[int | None] = [None] * len(tasks)

    def places(self) -> list[int] | None:
        """The lower edge of each task, or None where there is no way.

        Raises:
            OutOfSteps: Before that was clear.
        """
        if min(self._spare) < 0 or not self._from_height(0, 0):
            return None
        return [place for place in self._places if place is not None]

    def _from_height(self, lowest: int, first: int) -> bool:
        """Place the rest from a height on; at that height only tasks from ``first`` on, as their order is the same."""
        self._steps.take()
        waiting = [task for task, place in enumerate(self._places) if place is None]
        if not waiting:
            return True
        heights = self._heights
        lying = sorted((max([heights[number] for number in self._spans[task]]), task) for task in waiting)
        return any((height, task) >= (lowest, first) and self._placed(height, task) for height, task in lying)

    def _placed(self, height: int, task: int) -> bool:
        """Whether all goes well with a task at a height; if not, it is taken away again."""
        span, heights, spare = self._spans[task], self._heights, self._spare
        before = [heights[number] for number in span]
        if any(height - heights[number] > spare[number] for number in span):
            return False
        for number in span:
            spare[number] -= height - heights[number]
            heights[number] = height + self._needs[task]
        self._places[task] = height
        if self._from_height(height, task):
            return True
        self._places[task] = None
        for number, old in zip(span, before, strict=True):
            heights[number] = old
            spare[number] += height - old
        return False
