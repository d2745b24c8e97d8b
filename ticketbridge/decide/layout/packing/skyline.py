"""The skyline of a strip that is being filled: for every x, how far the pieces reach along the roll.

It is kept as segments from left to right, each with its left end, its width and its height; neighbours
differ in height. These loops decide how good a search can be in a second, so they work on plain lists of
integers.
"""

from collections.abc import Sequence
from typing import Final

from ticketbridge.decide.layout.packing.problem import Filled, PackingProblem

_LAST: Final = 1 << 62
"""A rank behind every other."""

_STICKS_OUT: Final = 1
_BELOW_A_WALL: Final = 2
_LEVEL_WITH_ONE: Final = 3
_LEVEL_WITH_BOTH: Final = 4
"""Merits of a shape as wide as its segment, by how its far edge lies to the walls."""


Choice = tuple[int, int]
"""A kind of piece, and which of its shapes."""


class Skyline:
    """What is filled so far.

    Attributes:
        lefts: Left end of each segment.
        widths: Width of each segment.
        heights: Height of each segment.
    """

    __slots__ = ("heights", "lefts", "widths")

    def __init__(self, width: int) -> None:
        self.lefts = [0]
        self.widths = [width]
        self.heights = [0]

    def fill_whole(self, at: int, height: int) -> int:
        """A piece as wide as the segment; its left end is the answer."""
        left = self.lefts[at]
        self.heights[at] += height
        self._join(at)
        return left

    def fill_left(self, at: int, width: int, height: int) -> int:
        """A narrower piece at the segment's left end; its left end is the answer."""
        left = self.lefts[at]
        top = self.heights[at] + height
        self.lefts[at] += width
        self.widths[at] -= width
        if at and self.heights[at - 1] == top:
            self.widths[at - 1] += width
        else:
            self._insert(at, left, width, top)
        return left

    def fill_right(self, at: int, width: int, height: int) -> int:
        """A narrower piece at the segment's right end; its left end is the answer."""
        left = self.lefts[at] + self.widths[at] - width
        top = self.heights[at] + height
        self.widths[at] -= width
        after = at + 1
        if after < len(self.heights) and self.heights[after] == top:
            self.lefts[after] -= width
            self.widths[after] += width
        else:
            self._insert(after, left, width, top)
        return left

    def give_up(self, at: int, height: int) -> None:
        """Nothing fits into a segment: it is raised to the lower of its walls and stays empty below."""
        self.heights[at] += height
        self._join(at)

    def _insert(self, at: int, left: int, width: int, height: int) -> None:
        self.lefts.insert(at, left)
        self.widths.insert(at, width)
        self.heights.insert(at, height)

    def _join(self, at: int) -> None:
        """Make one segment of neighbours that are level with it now."""
        heights, widths = self.heights, self.widths
        height, after = heights[at], at + 1
        if after < len(heights) and heights[after] == height:
            widths[at] += widths[after]
            del self.lefts[after], widths[after], heights[after]
        if at and heights[at - 1] == height:
            widths[at - 1] += widths[at]
            del self.lefts[at], widths[at], heights[at]


def fill_by_skyline(
    problem: PackingProblem, order: Sequence[int], limit: int
) -> tuple[list[int], list[Filled]]:
    """Fill the strip from its beginning, always the lowest segment first, and nothing beyond a limit.

    The shape taken is the one that leaves the skyline with the fewest corners: as wide as the segment and level
    with its walls, then as wide, then level with one wall, then any that fits. Among equals the order decides.

    Returns:
        The pieces that found no room, in order, and those that did, as they were placed.
    """
    left_over, filled = list(order), list[Filled]()
    rank = [0] * len(problem.shapes)
    for place in range(len(left_over) - 1, -1, -1):
        rank[left_over[place]] = place
    skyline = Skyline(problem.width)
    heights, widths = skyline.heights, skyline.widths
    waiting = list(problem.counts)
    shapes = problem.shapes
    while left_over:
        lowest = min(heights)
        room = limit - lowest
        if room <= 0:
            break
        at = heights.index(lowest)
        width = widths[at]
        left_wall = heights[at - 1] - lowest if at else room
        right_wall = heights[at + 1] - lowest if at + 1 < len(heights) else room
        choice = _best_shape(problem, left_over, rank, waiting, width, room, left_wall, right_wall)
        if choice is None:
            skyline.give_up(at, min(left_wall, right_wall))
            continue
        kind, shape = choice
        waiting[kind] -= 1
        left_over.remove(kind)
        piece_width, height = shapes[kind][shape]
        if piece_width == width:
            left = skyline.fill_whole(at, height)
        elif height == left_wall or (height != right_wall and left_wall >= right_wall):
            left = skyline.fill_left(at, piece_width, height)
        else:
            left = skyline.fill_right(at, piece_width, height)
        filled.append((kind, shape, left, lowest))
    return left_over, filled


def _best_shape(
    problem: PackingProblem,
    left_over: Sequence[int],
    rank: Sequence[int],
    waiting: Sequence[int],
    width: int,
    room: int,
    left_wall: int,
    right_wall: int,
) -> Choice | None:
    """A piece and its shape for a segment, or None where nothing fits."""
    best, merit, best_rank = None, 0, 0
    for height, kind, shape in problem.by_width.get(width, ()):
        if not waiting[kind] or height > room:
            continue
        if height == left_wall or height == right_wall:  # noqa: SIM109  quicker than a tuple
            level = _LEVEL_WITH_BOTH if left_wall == right_wall else _LEVEL_WITH_ONE
        else:
            level = _BELOW_A_WALL if height < max(left_wall, right_wall) else _STICKS_OUT
        if level > merit or (level == merit and rank[kind] < best_rank):
            best, merit, best_rank = (kind, shape), level, rank[kind]
    if merit > _STICKS_OUT:
        return best
    walls = [wall for wall in (left_wall, right_wall) if wall <= room]
    return (
        _level_with_a_wall(problem, rank, waiting, width, walls)
        or best
        or _first_that_fits(problem, left_over, width, room)
    )


def _level_with_a_wall(
    problem: PackingProblem, rank: Sequence[int], waiting: Sequence[int], width: int, walls: Sequence[int]
) -> Choice | None:
    """The first narrower shape in the order that is as high as a wall."""
    level, level_rank = None, _LAST
    for wall in walls:
        for shape_width, kind, shape in problem.by_height.get(wall, ()):
            if shape_width < width and rank[kind] < level_rank and waiting[kind]:
                level, level_rank = (kind, shape), rank[kind]
    return level


def _first_that_fits(
    problem: PackingProblem, left_over: Sequence[int], width: int, room: int
) -> Choice | None:
    shapes, tried = problem.shapes, -1
    for kind in left_over:
        if kind == tried:  # alike pieces mostly stand together
            continue
        tried = kind
        for shape, (shape_width, height) in enumerate(shapes[kind]):
            if shape_width <= width and height <= room:
                return kind, shape
    return None
