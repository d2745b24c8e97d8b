"""The generator of the searches: repeatable, and even enough for what they ask of it."""

from collections import Counter

from ticketbridge.decide.seeded import Seeded


def test_the_same_seed_gives_the_same_numbers() -> None:
    one, other = Seeded(7), Seeded(7)

    assert [one.below(1000) for _ in range(50)] == [other.below(1000) for _ in range(50)]


def test_seeds_next_to_each_other_give_different_numbers() -> None:
    firsts = {Seeded(seed).below(10**6) for seed in range(200)}

    assert len(firsts) > 195


def test_every_number_below_is_about_as_frequent() -> None:
    chance = Seeded(1)

    counts = Counter(chance.below(7) for _ in range(70_000))

    assert sorted(counts) == list(range(7))
    assert max(counts.values()) / min(counts.values()) < 1.1


def test_fractions_lie_between_nothing_and_one() -> None:
    chance = Seeded(3)
    fractions = [chance.fraction() for _ in range(10_000)]

    assert min(fractions) >= 0
    assert max(fractions) < 1
    assert abs(sum(fractions) / len(fractions) - 0.5) < 0.02


def test_shuffling_keeps_every_thing_and_reaches_every_order() -> None:
    chance = Seeded(5)

    orders = Counter(tuple(chance.shuffled("abc")) for _ in range(6_000))

    assert len(orders) == 6
    assert max(orders.values()) / min(orders.values()) < 1.25
