"""Timetables of tasks that share what there is: one half of the question whether boxes fit a rectangle.

Let time run along one side of the rectangle. A box is then a task that lasts as long as its size along that side
and needs its other size of what there is. Boxes that lie in the rectangle keep to a timetable; where there is
none, no packing exists either.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from ticketbridge.decide.layout.packing.bounds import Weighing, weighings
from ticketbridge.decide.layout.packing.steps import Steps

GoingOn = tuple[int, int]
"""When a task ends and how much it needs until then."""

_WEIGHINGS_KEPT: Final = 2


@dataclass(frozen=True, slots=True)
class Task:
    """One way to do something: how long it lasts and how much it needs meanwhile."""

    duration: int
    need: int


@dataclass(frozen=True, slots=True)
class Kind:
    """Tasks that are alike.

    Attributes:
        ways: Each of them may be done in any of these ways.
        count: How many there are.
    """

    ways: tuple[Task, ...]
    count: int


@dataclass(frozen=True, slots=True)
class Begun:
    """A task in a timetable: which kind, in which of its ways, and when it begins."""

    kind: int
    way: int
    at: int


class Timetables:
    """All timetables worth a look, one by one: from begin to end, which tasks begin at every moment one has ended.

    A branch is left as soon as more has stayed unused, in any of the weighings, than may stay unused at all.

    Args:
        kinds: What is to be done; no way of theirs lasts beyond the horizon or needs more than there is.
        capacity: How much there is at every moment.
        horizon: When all must have ended.
        steps: Moments that may be looked at.
        earliest_only: Leave out timetables in which a task begins although it could have begun a moment before. If
            there is a timetable there is one without such a task, but its boxes need not fit beside each other.
    """

    def __init__(
        self, kinds: Sequence[Kind], capacity: int, horizon: int, steps: Steps, *, earliest_only: bool
    ) -> None:
        self._kinds = kinds
        self._shortest = [min(way.duration for way in kind.ways) for kind in kinds]
        self._capacity, self._horizon = capacity, horizon
        self._steps = steps
        self._earliest_only = earliest_only
        self._left = [kind.count for kind in self._kinds]
        self._weighings = _strictest(kinds, capacity)
        self._begun: list[Begun] = []
        self._accept: Callable[[Sequence[Begun]], bool] = lambda _: True
        self._seen = 0
        self._hopeless: set[tuple[object, ...]] = set()

    def any_accepted(self, accept: Callable[[Sequence[Begun]], bool]) -> bool:
        """Whether a timetable is accepted; none is asked about after it.

        Raises:
            OutOfSteps: Before that was clear.
        """
        self._accept = accept
        unused = [
            weighing.capacity * self._horizon
            - sum(kind.count * min(_work(weighing, way) for way in kind.ways) for kind in self._kinds)
            for weighing in self._weighings
        ]
        return min(unused) >= 0 and self._from_moment(0, [], unused, -1)

    def _from_moment(self, now: int, going_on: list[GoingOn], unused: list[int], free_before: int) -> bool:
        """From a moment on, when so much was free until now."""
        if not any(self._left):
            self._seen += 1
            return self._accept(self._begun)
        self._steps.take()
        barred = free_before if self._earliest_only else -1
        state = (now, tuple(self._left), tuple(sorted(going_on)), barred)
        if state in self._hopeless:
            return False
        seen = self._seen
        free = self._capacity - sum([need for _, need in going_on])
        if self._beginning(0, now, going_on, unused, free, barred):
            return True
        if self._seen == seen:
            self._hopeless.add(state)
        return False

    def _beginning(
        self, first: int, now: int, going_on: list[GoingOn], unused: list[int], free: int, barred: int
    ) -> bool:
        """Kinds from ``first`` on may still begin at this moment, or nothing more does."""
        for number in range(first, len(self._kinds)):
            if not self._left[number]:
                continue
            for way_number, way in enumerate(self._kinds[number].ways):
                if not barred < way.need <= free or now + way.duration > self._horizon:
                    continue
                costs = self._detour(number, way, unused)
                if costs is None:
                    continue
                self._left[number] -= 1
                self._begun.append(Begun(number, way_number, now))
                going_on.append((now + way.duration, way.need))
                if self._beginning(number, now, going_on, costs, free - way.need, barred):
                    return True
                going_on.pop()
                self._begun.pop()
                self._left[number] += 1
        return self._to_next_moment(now, going_on, unused, free)

    def _detour(self, number: int, way: Task, unused: list[int]) -> list[int] | None:
        """What may stay unused after a kind is done in a way that weighs more than its lightest; None if too little."""
        ways = self._kinds[number].ways
        if len(ways) == 1:
            return unused
        costs = [
            spare - _work(weighing, way) + min(_work(weighing, other) for other in ways)
            for spare, weighing in zip(unused, self._weighings, strict=True)
        ]
        return costs if min(costs) >= 0 else None

    def _to_next_moment(self, now: int, going_on: list[GoingOn], unused: list[int], free: int) -> bool:
        if not going_on:
            return False
        then = min(going_on)[0]
        spare = []
        for budget, weighing in zip(unused, self._weighings, strict=True):
            weights = weighing.weights
            used = sum([weights[need] for _, need in going_on])
            rest = budget - (then - now) * (weighing.capacity - used)
            if rest < 0:
                return False
            spare.append(rest)
        for left, duration in zip(self._left, self._shortest, strict=True):
            if left and then + duration > self._horizon:
                return False
        return self._from_moment(then, [task for task in going_on if task[0] > then], spare, free)


def _work(weighing: Weighing, task: Task) -> int:
    return weighing.weights[task.need] * task.duration


def _strictest(kinds: Sequence[Kind], capacity: int) -> list[Weighing]:
    """The weighings that leave the smallest share unused, and the plain size."""
    needs = {way.need for kind in kinds for way in kind.ways}
    plain, *others = weighings(capacity, needs)

    def share(weighing: Weighing) -> float:
        works = (kind.count * min(_work(weighing, way) for way in kind.ways) for kind in kinds)
        return sum(works) / weighing.capacity

    strictest, known = [plain], {tuple(plain.weights.values())}
    for weighing in sorted(others, key=share, reverse=True):
        weights = tuple(weighing.weights.values())
        if len(strictest) <= _WEIGHINGS_KEPT and weights not in known:
            known.add(weights)
            strictest.append(weighing)
    return strictest
