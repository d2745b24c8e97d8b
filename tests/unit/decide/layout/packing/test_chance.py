"""A chance that can be repeated."""

from collections import Counter

from ticketbridge.decide.layout.packing.chance import Chance


def drawn(seed: int, count: int, limit: int) -> list[int]:
    chance = Chance(seed)
    return [chance.below(limit) for _ in range(count)]


def test_the_same_seed_draws_the_same_numbers() -> None:
    assert drawn(1, 5, 100) == drawn(1, 5, 100)
    assert drawn(1, 50, 100) != drawn(2, 50, 100)


def test_every_number_below_the_limit_comes_about_as_often() -> None:
    counts = Counter(drawn(7, 70_000, 7))
    assert sorted(counts) == list(range(7))
    assert all(9_500 < count < 10_500 for count in counts.values())
