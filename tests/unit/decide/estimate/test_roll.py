"""Rolls; the published values are held against these formulas in tests/outside."""

import pytest

from ticketbridge.decide.estimate.roll import (
    diameter_mm,
    diameter_of,
    length_m,
    lifting_caution,
    thickness_um,
    weight_of,
)
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import Roll


def roll(length_left_m: float) -> Roll:
    return Roll(substrate="banner-510", lot="B-1", width_mm=1600, length_left_m=length_left_m)


def test_length_diameter_and_thickness_agree() -> None:
    outside = diameter_mm(length_m=50, core_outside_mm=86, thickness_um=500)
    assert length_m(outside, 86, 500) == pytest.approx(50)
    assert thickness_um(50, outside, 86) == pytest.approx(500)


def test_an_empty_roll_is_as_thick_as_its_core(shop: Shop) -> None:
    assert diameter_of(roll(0), shop.substrates["banner-510"]) == 86


def test_a_roll_weighs_what_is_left_on_it(shop: Shop) -> None:
    assert weight_of(roll(25), shop.substrates["banner-510"]) == pytest.approx(1.6 * 25 * 0.51)


def test_a_heavy_roll_gets_a_caution_with_its_weight(shop: Shop) -> None:
    caution = lifting_caution(roll(50), shop.substrates["banner-510"], limit_kg=25)
    assert caution is not None
    assert caution.code == "lanes.roll-heavy"
    assert caution.facts["weight_kg"] == pytest.approx(40.8)


def test_a_light_roll_gets_none(shop: Shop) -> None:
    assert lifting_caution(roll(30), shop.substrates["banner-510"], limit_kg=25) is None
