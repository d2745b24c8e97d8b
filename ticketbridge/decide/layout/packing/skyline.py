"""The skyline of a strip that is being filled: for every x, how far the pieces reach along the roll.

It is kept as segments from left to right, each with its left end, its width and its height; neighbours
differ in height. These loops decide how good a search can be in a second, so they work on plain lists of
integers.
"""

from collections.abc import Sequence
from typing import Final

from ticketbridge.decide.layout.packing.problem import Filled, PackingProblem

FLUSH_WITH_ONE_WALL: Final = 3
FLUSH_WITH_BOTH_WALLS: Final = 4


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
    rank = [0] * len(left_over)
    for place, piece in enumerate(left_over):
        rank[piece] = place
    skyline = Skyline(problem.width)
    heights, widths = skyline.heights, skyline.widths
    placed = bytearray(len(rank))
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
        choice = _best_shape(problem, left_over, rank, placed, width, room, left_wall, right_wall)
        if choice is None:
            skyline.give_up(at, min(left_wall, right_wall))
            continue
        piece, shape = choice
        placed[piece] = True
        left_over.remove(piece)
        piece_width, height = shapes[piece][shape]
        if piece_width == width:
            left = skyline.fill_whole(at, height)
        elif height == left_wall or (height != right_wall and left_wall >= right_wall):
            left = skyline.fill_left(at, piece_width, height)
        else:
            left = skyline.fill_right(at, piece_width, height)
        filled.append((piece, shape, left, lowest))
    return left_over, filled


def _best_shape(
    problem: PackingProblem,
    left_over: Sequence[int],
    rank: Sequence[int],
    placed: bytearray,
    width: int,
    room: int,
    left_wall: int,
    right_wall: int,
) -> tuple[int, int] | None:
    """A piece and its shape for a segment, or None where nothing fits."""
    best, best_score, best_rank = None, 0, 0
    for height, piece, shape in problem.by_width.get(width, ()):
        if placed[piece] or height > room:
            continue
        if height == left_wall or height == right_wall:  # noqa: SIM109  quicker than a tuple
            score = FLUSH_WITH_BOTH_WALLS if left_wall == right_wall else FLUSH_WITH_ONE_WALL
        else:
            score = 2 if height < left_wall or height < right_wall else 1
        if score > best_score or (score == best_score and rank[piece] < best_rank):
            best, best_score, best_rank = (piece, shape), score, rank[piece]
    if best_score > 1:
        return best
    level, level_rank = None, len(rank)
    for wall in (left_wall, right_wall):
        for shape_width, piece, shape in problem.by_height.get(wall, ()):
            if shape_width < width and rank[piece] < level_rank and not placed[piece] and wall <= room:
                level, level_rank = (piece, shape), rank[piece]
    if level or best:
        return level or best
    shapes = problem.shapes
    for piece in left_over:
        for shape, (shape_width, height) in enumerate(shapes[piece]):
            if shape_width <= width and height <= room:
                return piece, shape
    return None
