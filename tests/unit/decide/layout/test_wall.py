"""How drops are cut from a roll."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.layout.wall import drops_per_roll, match_waste_mm, phase_mm, pitch_mm, rolls_needed
from ticketbridge.model.pattern import Match

heights = st.floats(100, 6000)
repeats = st.floats(20, 1500)


@given(heights, repeats)
def test_a_straight_match_cuts_at_the_next_whole_repeat(height: float, repeat: float) -> None:
    pitch = pitch_mm(height, Match.STRAIGHT, repeat)
    assert pitch / repeat == pytest.approx(round(pitch / repeat))
    assert -0.01 <= match_waste_mm(height, pitch) < repeat


@given(heights, repeats)
def test_a_half_drop_cuts_at_the_next_odd_half_so_that_phases_alternate(height: float, repeat: float) -> None:
    pitch = pitch_mm(height, Match.HALF_DROP, repeat)
    halves = pitch / (repeat / 2)
    assert halves == pytest.approx(round(halves))
    assert round(halves) % 2 == 1
    assert -0.01 <= match_waste_mm(height, pitch) < repeat
    phases = [phase_mm(drop, pitch, repeat) for drop in range(4)]
    assert phases == pytest.approx([0, repeat / 2, 0, repeat / 2], abs=0.01)


def test_a_mural_is_cut_at_its_height_and_has_no_phase_of_a_repeat() -> None:
    assert pitch_mm(2500, Match.NONE, None) == 2500
    assert phase_mm(3, 2500, None) == 0


@given(st.floats(0, 60_000), heights, st.sampled_from([Match.STRAIGHT, Match.HALF_DROP]), repeats)
def test_the_drops_of_a_roll_fit_on_it_and_one_more_does_not(
    roll: float, height: float, match: Match, repeat: float
) -> None:
    pitch = pitch_mm(height, match, repeat)
    drops = drops_per_roll(roll, height, pitch)
    if drops:
        assert (drops - 1) * pitch + height <= roll + 0.01
    assert drops * pitch + height > roll - 0.01


def test_a_roll_too_short_for_a_drop_serves_for_no_wall() -> None:
    assert drops_per_roll(2400, 2500, 2560) == 0
    with pytest.raises(ValueError, match="no roll is long enough"):
        rolls_needed(4, 0)
