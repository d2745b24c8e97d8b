"""The estimate of a whole layout."""

from collections.abc import Callable

import pytest

from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.layout import lay_out
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item
from ticketbridge.model.shop import Shop


def test_an_estimate_counts_steps_ink_and_roll(shop: Shop, make_item: Callable[..., Item]) -> None:
    item = make_item(finished_width_mm=980, finished_height_mm=480, bleed_mm=10, quantity=2, may_rotate=False)
    layout = lay_out(item, 1580, 1600, 10, 500, 500)
    assert isinstance(layout, Layout)
    takes = estimate(layout, item, shop.print_modes["swift"], shop.presses["tern"])
    assert takes.as_json() == {
        "advance_mm": 13.5,
        "steps": 79,  # 1010 + 54 mm at 13.5 mm
        "step_s": pytest.approx(1.9),  # (1000 + 4 x 150) / 1000 + 0.3
        "print_s": pytest.approx(79 * 1.9),
        "ink_ml": pytest.approx({"Cyan": 2.5, "Magenta": 1.25, "Yellow": 0.5, "Black": 1.0}),  # 1 m2
        "coverage_assumed": True,
        "roll_length_mm": 2010,
        "roll_area_m2": pytest.approx(2.01 * 1.6),
        "waste_percent": layout.waste_percent,
        "print_low_s": pytest.approx(79 * 1.9),  # nothing was learned yet
        "print_high_s": pytest.approx(79 * 1.9),
        "time_factor": 1.0,
        "time_runs": 0,
        "ink_low_share": 1.0,
        "ink_high_share": 1.0,
        "ink_factor": 1.0,
        "ink_runs": 0,
    }


def test_panels_print_their_overlaps_twice(shop: Shop, make_item: Callable[..., Item]) -> None:
    item = make_item(finished_width_mm=3000, finished_height_mm=2000, quantity=1, panel_overlap_mm=40)
    layout = lay_out(item, 1580, 1600, 10, 500, 500)
    assert isinstance(layout, Layout)
    takes = estimate(layout, item, shop.print_modes["swift"], shop.presses["tern"])
    assert takes.ink_ml["Cyan"] == pytest.approx((3.0 + 0.04) * 2.0 * 0.25 * 10)
