"""The shortest packing of a few pieces, with the proof that there is none shorter."""

from collections.abc import Sequence
from dataclasses import dataclass

from ticketbridge.decide.layout.packing.problem import Filled, PackingProblem
from ticketbridge.decide.layout.packing.search import Found
from ticketbridge.decide.layout.packing.side_by_side import SideBySide
from ticketbridge.decide.layout.packing.steps import OutOfSteps, Steps
from ticketbridge.decide.layout.packing.timetable import Begun, Kind, Task, Timetables

Way = tuple[Task, int]
"""A task, and the number of the shape that it stands for."""


def shortest(problem: PackingProblem, found: Found, bound: int, steps: int) -> tuple[Found, int]:
    """The shortest packing and its bound, which are equal where it is proved.

    Args:
        problem: What is packed.
        found: A packing to begin with.
        bound: No packing is shorter than this.
        steps: Branches that may be looked at; when they are used up, the best packing and bound so far are it.
    """
    purse = Steps(steps)
    try:
        while found.length > bound:
            filled = fitting(problem, found.length - problem.step, purse)
            if filled is None:
                bound = found.length
            else:
                found = Found(problem.length_of(filled), filled)
    except OutOfSteps:
        pass
    return found, bound


def fitting(problem: PackingProblem, length: int, steps: Steps) -> Sequence[Filled] | None:
    """All boxes within a length, or None where they do not fit.

    First one timetable is asked for in which nothing could begin earlier: usually there is none, and that is the
    proof, or its boxes fit beside each other. If neither, all timetables are gone through.

    Raises:
        OutOfSteps: Before that was clear.
    """
    question = _Question(problem, length)
    if question.hopeless:
        return None
    for earliest_only in (True, False):
        tables = Timetables(
            question.kinds, question.capacity, question.horizon, steps, earliest_only=earliest_only
        )
        answer = _Answer(question, steps, take_any=earliest_only)
        if not tables.any_accepted(answer.accepts):
            return None
        if answer.filled:
            return answer.filled
    return None


class _Question:
    """The boxes as tasks, with time along the shorter side: then there are fewer moments to look at."""

    def __init__(self, problem: PackingProblem, length: int) -> None:
        self.time_is_across = problem.width <= length
        self.horizon, self.capacity = sorted((problem.width, length))
        alike: dict[tuple[Way, ...], list[int]] = {}
        for kind, (shapes, count) in enumerate(zip(problem.shapes, problem.counts, strict=True)):
            ways = [(self._task(*box), number) for number, box in enumerate(shapes)]
            alike.setdefault(tuple(way for way in ways if self._possible(way[0])), []).extend([kind] * count)
        self.hopeless = () in alike
        in_order = sorted(alike.items(), key=lambda one: [(-task.need, -task.duration) for task, _ in one[0]])
        self.pieces = [pieces for _, pieces in in_order]
        self.ways = [ways for ways, _ in in_order]
        self.kinds = [Kind(tuple(task for task, _ in ways), len(pieces)) for ways, pieces in in_order]

    def _task(self, width: int, height: int) -> Task:
        return Task(width, height) if self.time_is_across else Task(height, width)

    def _possible(self, task: Task) -> bool:
        return task.duration <= self.horizon and task.need <= self.capacity


@dataclass(slots=True)
class _Answer:
    """Judges timetables: whether their boxes find places, or any where only the first is wanted."""

    question: _Question
    steps: Steps
    take_any: bool
    filled: Sequence[Filled] = ()

    def accepts(self, begun: Sequence[Begun]) -> bool:
        """Whether to stop at this timetable."""
        tasks = [(one, self.question.kinds[one.kind].ways[one.way]) for one in begun]
        fixed = [(one.at, one.at + task.duration, task.need) for one, task in tasks]
        places = SideBySide(fixed, self.question.capacity, self.steps).places()
        if places is not None:
            self.filled = self._filled(begun, places)
        return self.take_any or places is not None

    def _filled(self, begun: Sequence[Begun], places: Sequence[int]) -> Sequence[Filled]:
        waiting = [list(pieces) for pieces in self.question.pieces]
        filled = list[Filled]()
        for one, place in zip(begun, places, strict=True):
            _, shape = self.question.ways[one.kind][one.way]
            left, leading = (one.at, place) if self.question.time_is_across else (place, one.at)
            filled.append((waiting[one.kind].pop(), shape, left, leading))
        return filled
