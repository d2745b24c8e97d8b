"""How long a print takes."""

from collections.abc import Callable
from typing import Any

import pytest

from ticketbridge.decide.estimate.time import (
    Image,
    advance_mm,
    advance_on,
    side_by_side_seconds,
    span_mm,
    step_seconds,
    steps,
    sweeps,
)
from ticketbridge.model.press import Press
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import Direction, LayerStack, PrintMode

Make = Callable[..., Shop]


def test_passes_and_layers_share_the_head_swath() -> None:
    assert advance_mm(head_swath_mm=54, passes=6, sequential_layers=3) == 3


def test_the_whole_head_has_to_pass_the_last_line() -> None:
    assert steps(length_mm=486, head_swath_mm=54, advance_mm=10.8) == 50


def test_a_step_begun_is_a_step_made() -> None:
    assert steps(length_mm=486.1, head_swath_mm=54, advance_mm=10.8) == 51


def test_noise_in_the_last_digits_costs_no_step() -> None:
    assert (0.2 + 0.1) / 0.1 > 3
    assert steps(length_mm=0.2, head_swath_mm=0.1, advance_mm=0.1) == 3


def test_two_ramps_cost_the_time_of_four_at_full_speed() -> None:
    # 100 mm from rest to 1000 mm/s at constant acceleration take 0.2 s, and as much again to stop.
    assert step_seconds(600, 100, 1000, dwell_s=0, sweeps_per_step=1) == pytest.approx(0.6 + 0.2 + 0.2)


def test_a_one_way_mode_sweeps_twice_and_turns_twice() -> None:
    both_ways = step_seconds(1000, 150, 1000, 0.3, sweeps(Direction.BOTH_WAYS))
    assert step_seconds(1000, 150, 1000, 0.3, sweeps(Direction.ONE_WAY)) == 2 * both_ways


def test_a_measured_advance_overrides_the_formula(make_shop: Make) -> None:
    shop = make_shop({"presses.tern.advance_mm": {"swift": 12.9}})
    press, modes = shop.presses["tern"], shop.print_modes
    assert advance_on(press, modes["swift"], LayerStack.COLOUR) == 12.9
    assert advance_on(press, modes["fine"], LayerStack.COLOUR_WHITE_COLOUR) == 54 / 8 / 3


def test_the_span_is_what_is_printed_gap_included(shop: Shop) -> None:
    left, right = Image(10, 500, 1000), Image(1690, 400, 1000)
    assert span_mm(shop.presses["tern"], [left]) == 500
    assert span_mm(shop.presses["tern"], [left, right]) == 2080


def test_a_full_beam_carriage_always_travels_the_beam(make_shop: Make) -> None:
    press = make_shop({"presses.tern.carriage_span": "beam"}).presses["tern"]
    assert span_mm(press, [Image(10, 500, 1000)]) == 3300


def test_side_by_side_of_one_is_the_single_print(shop: Shop) -> None:
    press, mode = shop.presses["tern"], shop.print_modes["swift"]
    # Advance 54 / 4 = 13.5; 946 + 54 mm take 75 steps of (500 + 600) / 1000 + 0.3 s.
    seconds = side_by_side_seconds(press, mode, LayerStack.COLOUR, [Image(0, 500, 946)])
    assert seconds == pytest.approx(75 * 1.4)


def test_where_one_print_ends_the_other_goes_on_over_its_own_span(shop: Shop) -> None:
    press, mode = shop.presses["tern"], shop.print_modes["swift"]
    short, long = Image(0, 500, 946), Image(1000, 700, 1892)
    seconds = side_by_side_seconds(press, mode, LayerStack.COLOUR, [long, short])
    together, alone = 75, 145 - 75  # ceil(1946 / 13.5) = 145
    assert seconds == pytest.approx(together * (1.7 + 0.6 + 0.3) + alone * (0.7 + 0.6 + 0.3))


def _press(**changes: Any) -> Press:
    lane = {"id": "a", "name": "A", "device_id": "a", "width_mm": 1500, "folder": "a"}
    values: dict[str, Any] = {
        "id": "p",
        "name": "P",
        "beam_width_mm": 3300,
        "head_swath_mm": 54,
        "carriage_speed_mm_s": 1000,
        "ramp_mm": 150,
        "thickness_um": {"max": 1000},
        "lanes": [lane],
    }
    return Press(**(values | changes))


def _speed_up(press: Press, mode: PrintMode, widths_mm: float, lengths_mm: tuple[float, float]) -> float:
    """How much sooner two prints 100 mm apart are done side by side than one after the other."""
    one, other = (Image(n * (widths_mm + 100), widths_mm, length) for n, length in enumerate(lengths_mm))
    apart = sum(side_by_side_seconds(press, mode, LayerStack.COLOUR, [image]) for image in (one, other))
    return apart / side_by_side_seconds(press, mode, LayerStack.COLOUR, [one, other])


@pytest.mark.parametrize(
    ("lengths_mm", "image_range", "beam"),
    [
        ((10_000, 10_000), (1.20, 1.65), 2.00),
        ((10_000, 7_500), (1.17, 1.51), 1.75),
        ((10_000, 5_000), (1.12, 1.36), 1.50),
        ((10_000, 2_500), (1.07, 1.19), 1.25),
    ],
)
def test_pairing_pays_as_published_for_two_lanes(
    shop: Shop, lengths_mm: tuple[float, float], image_range: tuple[float, float], beam: float
) -> None:
    """Source: the table "does pairing two narrow jobs pay?" among the outside floors.

    Jobs 0.3 to 1.5 m wide, 10 m long, 0.1 m apart; least gain at 1 m/s, most at 2 m/s. The table's ramp is a
    length charged at full speed: its 0.3 m are 150 mm here, its 0.5 m are 250 mm. We count the head's own
    length too, which moves the figures by less than 0.01.
    """
    swift = shop.print_modes["swift"]
    least = _speed_up(_press(), swift, 1500, lengths_mm)
    most = _speed_up(_press(carriage_speed_mm_s=2000, ramp_mm=250), swift, 300, lengths_mm)
    always = _speed_up(_press(carriage_span="beam"), swift, 800, lengths_mm)
    assert (least, most) == pytest.approx(image_range, abs=0.01)
    assert always == pytest.approx(beam, abs=0.01)
