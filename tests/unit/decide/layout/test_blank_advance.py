"""What the shorter of two prints side by side wastes."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.made import LAYOUT
from ticketbridge.decide.layout.blank_advance import blank_advance_mm, waste_percent_beside


def test_the_shorter_lane_runs_blank_for_the_difference() -> None:
    longer = replace(LAYOUT, length_mm=3010)
    assert blank_advance_mm(LAYOUT, longer) == 2000
    assert blank_advance_mm(longer, LAYOUT) == 0


def test_the_blank_length_is_waste_of_the_shorter_alone() -> None:
    """1010 mm of print, 500 mm leader and trailer each, and 2000 mm blank, all 1600 mm wide; 1 m2 is sold."""
    longer = replace(LAYOUT, length_mm=3010)
    expected = 100 * (1 - 1_000_000 / ((1010 + 1000 + 2000) * 1600))
    assert waste_percent_beside(LAYOUT, longer) == pytest.approx(expected)
    assert waste_percent_beside(longer, LAYOUT) == longer.waste_percent


@given(st.floats(1010, 50_000), st.floats(1010, 50_000))
def test_only_one_of_two_runs_blank_and_nobody_wastes_less_than_alone(one_mm: float, other_mm: float) -> None:
    one, other = (replace(LAYOUT, length_mm=length) for length in (one_mm, other_mm))
    assert min(blank_advance_mm(one, other), blank_advance_mm(other, one)) == 0
    assert waste_percent_beside(one, other) >= one.waste_percent - 1e-9
