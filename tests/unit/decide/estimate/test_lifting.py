"""Lifting guidance; the published values are held against it in tests/outside."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.estimate.lifting import (
    GUIDELINE_CLOSE_KG,
    LOAD_CONSTANT_KG,
    lifting_index,
    recommended_weight_limit_kg,
)

lengths = st.floats(0, 200)


@given(lengths, lengths, lengths, st.floats(0, 180))
def test_no_lift_is_allowed_more_than_the_load_constant(
    horizontal_cm: float, vertical_cm: float, travel_cm: float, asymmetry: float
) -> None:
    limit = recommended_weight_limit_kg(horizontal_cm, vertical_cm, travel_cm, asymmetry)

    assert 0 <= limit <= LOAD_CONSTANT_KG


@given(st.floats(25, 60), st.floats(0, 3))
def test_farther_from_the_body_never_allows_more(horizontal_cm: float, more_cm: float) -> None:
    near, far = (recommended_weight_limit_kg(h, 75, 25) for h in (horizontal_cm, horizontal_cm + more_cm))

    assert far <= near


@pytest.mark.parametrize(
    "lift", [(64, 75, 25, 0), (40, 176, 25, 0), (40, -1, 25, 0), (40, 75, 176, 0), (40, 75, 25, 136)]
)
def test_beyond_its_range_the_equation_allows_nothing(lift: tuple[float, float, float, float]) -> None:
    assert recommended_weight_limit_kg(*lift) == 0


def test_a_load_where_nothing_is_allowed_has_no_bound_to_its_index() -> None:
    assert lifting_index(10, 0) == float("inf")


def test_the_guideline_is_highest_at_the_elbow() -> None:
    for person in (0, 1):
        assert max(GUIDELINE_CLOSE_KG, key=lambda zone: GUIDELINE_CLOSE_KG[zone][person]) == "elbow"
