"""The time model against numbers worked out by hand, and against its own meaning."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.press_sim.tickets import Bench
from ticketbridge.press_sim.carriage import CarriageMode, Span, advance_mm, step_s, steps_to_clear
from ticketbridge.press_sim.settings import PressSettings, read_settings

MODE = CarriageMode(passes=6, one_way=False, layer_stack=("Color",))


@pytest.fixture
def press(tmp_path: Path) -> PressSettings:
    return read_settings(Bench(tmp_path).folder)


def test_the_swath_is_shared_by_passes_and_layers() -> None:
    assert advance_mm(54, MODE) == 9
    assert advance_mm(54, replace(MODE, layer_stack=("Color", "White", "Color"))) == 3


def test_a_step_is_a_sweep_over_the_image_with_both_ramps_and_the_dwell(press: PressSettings) -> None:
    # (1000 + 4 x 400) mm / 1200 mm/s + 0.3 s
    assert step_s(press, MODE, [Span(0, 1000)]) == pytest.approx(2.4667, abs=1e-4)


def test_two_lanes_are_one_span_with_the_gap_between(press: PressSettings) -> None:
    both = step_s(press, MODE, [Span(1650, 2650), Span(0, 1000)])
    assert both == step_s(press, MODE, [Span(0, 2650)])


def test_one_way_printing_travels_twice_and_dwells_once(press: PressSettings) -> None:
    one_way = step_s(press, replace(MODE, one_way=True), [Span(0, 1000)])
    assert one_way == pytest.approx(2 * 2600 / 1200 + 0.3)


def test_a_full_beam_carriage_does_not_care_for_the_image(press: PressSettings) -> None:
    beam = replace(press, carriage_span="beam")
    assert step_s(beam, MODE, [Span(0, 10)]) == step_s(beam, MODE, [Span(0, 3000)])


def test_a_piece_is_done_when_the_whole_head_has_passed_it() -> None:
    # ceil((length + head swath) / advance): 354 mm in steps of 9 mm
    assert steps_to_clear(300, 54, MODE) == 40


def test_an_exact_number_of_steps_is_not_rounded_up() -> None:
    assert steps_to_clear(0.1 + 0.2, 0.3, CarriageMode(1, one_way=False, layer_stack=("Color",))) == 2


@settings(deadline=None)
@given(
    end_mm=st.floats(0, 1e5),
    swath_mm=st.floats(1, 200),
    passes=st.integers(1, 32),
    layers=st.integers(1, 3),
)
def test_one_step_less_would_not_do(end_mm: float, swath_mm: float, passes: int, layers: int) -> None:
    mode = CarriageMode(passes, one_way=False, layer_stack=("Color",) * layers)
    advance = advance_mm(swath_mm, mode)
    steps = steps_to_clear(end_mm, swath_mm, mode)
    assert steps * advance >= (end_mm + swath_mm) * (1 - 1e-9)
    assert (steps - 1) * advance < (end_mm + swath_mm) * (1 + 1e-9)
