"""Decisions in words."""

from tests.unit.made import LAYOUT, MARKED, with_all_marks
from ticketbridge.cli.reasons import pattern_lines


def test_a_repeating_pattern_says_what_the_match_costs_and_how_many_drops_a_roll_has() -> None:
    """500 mm and 3 mm of trim allowance at both ends, repeat 640 mm; 20 m less leader and trailer of 500 mm."""
    item = MARKED["a straight match"]
    assert pattern_lines(with_all_marks(item), item, 20_000) == [
        "  drops of 506 mm, one every 640 mm: 134 mm each for the match",
        "  the roll has 29 such drops, 16 are needed",
    ]


def test_anything_else_says_nothing_of_a_pattern() -> None:
    assert pattern_lines(LAYOUT, MARKED["panels"], 20_000) == []
