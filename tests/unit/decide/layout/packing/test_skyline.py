"""The skyline, and how the strip is filled along it."""

from ticketbridge.decide.layout.packing.problem import PackingProblem
from ticketbridge.decide.layout.packing.skyline import Skyline, fill_by_skyline

NO_LIMIT = 1_000


def segments(skyline: Skyline) -> list[tuple[int, int, int]]:
    return list(zip(skyline.lefts, skyline.widths, skyline.heights, strict=True))


def test_a_piece_at_the_left_makes_two_segments() -> None:
    skyline = Skyline(10)
    assert skyline.fill_left(0, 4, 3) == 0
    assert segments(skyline) == [(0, 4, 3), (4, 6, 0)]


def test_a_piece_at_the_right_makes_two_segments() -> None:
    skyline = Skyline(10)
    assert skyline.fill_right(0, 4, 3) == 6
    assert segments(skyline) == [(0, 6, 0), (6, 4, 3)]


def test_pieces_of_one_height_become_one_segment() -> None:
    skyline = Skyline(10)
    skyline.fill_left(0, 4, 3)
    assert skyline.fill_left(1, 2, 3) == 4
    assert segments(skyline) == [(0, 6, 3), (6, 4, 0)]
    assert skyline.fill_whole(1, 3) == 6
    assert segments(skyline) == [(0, 10, 3)]


def test_what_is_given_up_rises_to_its_neighbour() -> None:
    skyline = Skyline(10)
    skyline.fill_left(0, 4, 3)
    skyline.give_up(1, 3)
    assert segments(skyline) == [(0, 10, 3)]


def test_a_shape_level_with_a_wall_comes_before_an_earlier_piece() -> None:
    problem = PackingProblem(10, [[(5, 4)], [(4, 3)], [(5, 4)]])
    _, filled = fill_by_skyline(problem, [0, 1, 2], NO_LIMIT)
    assert [(piece, left, leading) for piece, _, left, leading in filled] == [
        (0, 0, 0),
        (2, 5, 0),
        (1, 0, 4),
    ]


def test_what_would_reach_beyond_the_limit_is_left_over() -> None:
    problem = PackingProblem(10, [[(10, 4)], [(10, 3)]])
    left_over, filled = fill_by_skyline(problem, [0, 1], 6)
    assert left_over == [1]
    assert problem.length_of(filled) == 4
