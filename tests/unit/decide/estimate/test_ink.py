"""Ink per channel."""

from ticketbridge.decide.estimate.ink import ink_ml
from ticketbridge.model.substrate import LayerStack

COVERAGE = {"Cyan": 50.0, "White": 100.0, "Clear": 100.0}
LAYDOWN = {"Cyan": 10.0, "White": 12.0, "Clear": 8.0}


def test_colour_alone_takes_neither_white_nor_clear() -> None:
    assert ink_ml(2, COVERAGE, LAYDOWN, LayerStack.COLOUR) == {"Cyan": 10}


def test_colour_white_colour_lays_the_colour_twice_and_the_white_once() -> None:
    assert ink_ml(2, COVERAGE, LAYDOWN, LayerStack.COLOUR_WHITE_COLOUR) == {"Cyan": 20, "White": 24}


def test_clear_is_a_layer_of_its_own() -> None:
    assert ink_ml(2, COVERAGE, LAYDOWN, LayerStack.COLOUR_CLEAR) == {"Cyan": 10, "Clear": 16}


def test_a_channel_of_unknown_coverage_is_taken_as_full() -> None:
    assert ink_ml(1, {}, {"Cyan": 10}, LayerStack.COLOUR) == {"Cyan": 10}
