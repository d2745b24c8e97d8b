"""Bounds that no packing is below."""

from ticketbridge.decide.layout.packing.bounds import length_bound, weighings
from ticketbridge.decide.layout.packing.problem import PackingProblem


def test_the_area_is_a_bound() -> None:
    assert length_bound(PackingProblem(10, [[(5, 6)]] * 4)) == 12


def test_the_tallest_piece_is_a_bound_and_may_be_turned_to_lower_it() -> None:
    assert length_bound(PackingProblem(10, [[(1, 9)]])) == 9
    assert length_bound(PackingProblem(10, [[(1, 9), (9, 1)]])) == 1


def test_pieces_wider_than_half_lie_one_after_another() -> None:
    assert length_bound(PackingProblem(10, [[(6, 5)]] * 3)) == 15


def test_a_bound_is_a_length_that_can_be() -> None:
    """Heights of 4 make no length of 6."""
    assert length_bound(PackingProblem(10, [[(5, 4)]] * 3)) == 8


def test_no_weighing_makes_what_fits_beside_each_other_heavier_than_the_strip() -> None:
    sizes = range(1, 31)
    for weighing in weighings(30, sizes):
        heaviest = [0] * 31
        for filled in sizes:
            heaviest[filled] = max(
                heaviest[filled - size] + weighing.weights[size] for size in sizes if size <= filled
            )
        assert heaviest[30] <= weighing.capacity, weighing
