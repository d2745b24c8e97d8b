"""What may print side by side; the rule and the release ask the same function."""

from collections.abc import Callable

from ticketbridge.decide.beside import lanes_overlap
from ticketbridge.model.shop import Shop


def test_a_wide_lane_overlaps_the_narrow_ones_in_its_span(shop: Shop) -> None:
    left, right, wide = shop.presses["tern"].lanes
    assert lanes_overlap(left, wide)
    assert lanes_overlap(wide, right)
    assert not lanes_overlap(left, right)


def test_lanes_that_only_touch_do_not_overlap(make_shop: Callable[..., Shop]) -> None:
    left, right, _ = make_shop({"presses.tern.lanes.1.left_mm": 1620}).presses["tern"].lanes
    assert not lanes_overlap(left, right)
    assert not lanes_overlap(right, left)
