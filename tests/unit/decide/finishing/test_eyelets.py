"""Where eyelets go."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.finishing.eyelets import even_spacing, eyelets_along, eyelets_round
from ticketbridge.model.finishing import Edge, Eyelets

NOISE_MM = 0.01


def test_every_corner_gets_one_eyelet_and_no_corner_two() -> None:
    centres = eyelets_round(1000, 500, Eyelets(corners_only=True))
    assert centres == ((25, 25), (975, 25), (25, 475), (975, 475))


def test_eyelets_along_top_and_bottom_only() -> None:
    centres = eyelets_round(1050, 300, Eyelets(edges=(Edge.TOP, Edge.BOTTOM)))
    assert centres == ((25, 25), (525, 25), (1025, 25), (25, 275), (525, 275), (1025, 275))


def test_a_strip_too_narrow_for_two_has_its_eyelets_in_the_middle() -> None:
    assert eyelets_round(40, 550, Eyelets()) == ((20, 25), (20, 525))


def test_places_that_a_ticket_gives_are_taken_as_they_are() -> None:
    given_places = ((10.0, 20.0), (990.0, 20.0))
    assert eyelets_round(1000, 500, Eyelets(at_mm=given_places)) == given_places


sides = st.floats(5, 20_000)
insets = st.floats(1, 60)
spacings = st.floats(50, 2000)


@given(sides, insets, spacings)
def test_no_two_neighbours_are_farther_apart_than_allowed_and_one_fewer_would_be(
    side: float, inset: float, spacing: float
) -> None:
    pitch = even_spacing(side, inset, spacing)
    assert pitch <= spacing + NOISE_MM
    intervals = eyelets_along(side, inset, spacing) - 1
    if intervals > 1:
        assert (side - 2 * inset) / (intervals - 1) > spacing


@given(sides, sides, insets, spacings)
def test_all_eyelets_lie_on_the_piece_and_stand_evenly(
    width: float, height: float, inset: float, spacing: float
) -> None:
    centres = eyelets_round(width, height, Eyelets(inset_mm=inset, spacing_mm=spacing))
    assert all(0 < x < width and 0 < y < height for x, y in centres)
    bottom = [x for x, y in centres if y == centres[0][1]]
    pitch = even_spacing(width, inset, spacing)
    for one, other in pairwise(bottom):
        assert other - one == pytest.approx(pitch, abs=NOISE_MM)


@given(sides, sides, insets, spacings)
def test_the_count_round_a_piece_is_that_of_its_sides_with_each_corner_once(
    width: float, height: float, inset: float, spacing: float
) -> None:
    across, up = eyelets_along(width, inset, spacing), eyelets_along(height, inset, spacing)
    expected = across * up if min(across, up) == 1 else 2 * (across + up) - 4
    assert len(eyelets_round(width, height, Eyelets(inset_mm=inset, spacing_mm=spacing))) == expected
