"""Fill a strip so that every piece comes off by cuts from edge to edge."""

from collections.abc import Sequence

from ticketbridge.decide.layout.packing.problem import Filled, PackingProblem

Space = tuple[int, int, int, int]
"""Left edge, leading edge, width and height of an empty rectangle."""


def fill_by_guillotine(
    problem: PackingProblem, order: Sequence[int], limit: int
) -> tuple[list[int], list[Filled]]:
    """Fill the strip in rows across its whole width, each as high as the first piece in it.

    What is left of a row is an empty rectangle; a piece goes into its corner and leaves two smaller ones. All
    of it can be cut by construction.

    Returns:
        The pieces that found no room, in order, and those that did, as they were placed.
    """
    left_over, filled = list(order), list[Filled]()
    leading = 0
    while left_over:
        opening = _opening(problem, left_over, limit - leading)
        if opening is None:
            break
        kind, shape = opening
        _, height = problem.shapes[kind][shape]
        _fill_space(problem, left_over, filled, (0, leading, problem.width, height), opening)
        leading += height
    return left_over, filled


def _opening(problem: PackingProblem, left_over: Sequence[int], room: int) -> tuple[int, int] | None:
    """The first piece in the order that begins a row."""
    for kind in left_over:
        for shape, (width, height) in enumerate(problem.shapes[kind]):
            if height <= room and width <= problem.width:
                return kind, shape
    return None


def _fill_space(
    problem: PackingProblem,
    left_over: list[int],
    filled: list[Filled],
    space: Space,
    first: tuple[int, int] | None,
) -> None:
    """Fill a rectangle and all that is left of it, the larger remainder first."""
    spaces = [space]
    choice = first
    while spaces:
        left, leading, width, height = spaces.pop()
        if choice is None:
            choice = _best_shape(problem, left_over, width, height)
        if choice is None:
            continue
        kind, shape = choice
        choice = None
        left_over.remove(kind)
        filled.append((kind, shape, left, leading))
        remainders = _remainders(left, leading, width, height, problem.shapes[kind][shape])
        spaces += sorted((rest for rest in remainders if rest[2] and rest[3]), key=_area)


def _area(space: Space) -> int:
    return space[2] * space[3]


def _remainders(
    left: int, leading: int, width: int, height: int, box: tuple[int, int]
) -> tuple[Space, Space]:
    """What a piece in the corner leaves beside it and behind it, cut so that the larger one is as large as can be."""
    box_width, box_height = box
    wide, high = width - box_width, height - box_height
    if wide * height >= width * high:
        return (left + box_width, leading, wide, height), (left, leading + box_height, box_width, high)
    return (left + box_width, leading, wide, box_height), (left, leading + box_height, width, high)


def _best_shape(
    problem: PackingProblem, left_over: Sequence[int], width: int, height: int
) -> tuple[int, int] | None:
    """A piece and its shape for a rectangle: as wide and as high, as wide or as high, or any that fits."""
    exact = None
    fitting = None
    shapes = problem.shapes
    for kind in dict.fromkeys(left_over):
        for shape, (shape_width, shape_height) in enumerate(shapes[kind]):
            if shape_width > width or shape_height > height:
                continue
            if shape_width == width and shape_height == height:
                return kind, shape
            if exact is None and (shape_width == width or shape_height == height):
                exact = kind, shape
            elif fitting is None:
                fitting = kind, shape
    return exact or fitting
