"""Ink: area x coverage x laydown, for every layer that the channel is laid in."""

from collections.abc import Mapping, Sequence
from typing import Final

from ticketbridge.model.substrate import LayerStack

_LAYER_OF_CHANNEL: Final[Mapping[str, str]] = {"white": "white", "clear": "clear"}
"""White and clear have layers of their own; every other channel belongs to the colour."""


def times_laid(channel: str, layers: Sequence[str]) -> int:
    """How often a channel is laid down in these layers: colour, white, colour lays each colour twice."""
    return layers.count(_LAYER_OF_CHANNEL.get(channel.casefold(), "colour"))


def ink_ml(
    area_m2: float,
    coverage_percent: Mapping[str, float],
    laydown_ml_m2: Mapping[str, float],
    stack: LayerStack,
) -> dict[str, float]:
    """Millilitres per channel: area x coverage x laydown at full coverage x layers.

    A channel that the stack does not use is left out. One whose coverage nobody gave is taken as full:
    an estimate rather orders too much ink than too little.
    """
    layers = stack.layers
    return {
        channel: area_m2 * coverage_percent.get(channel, 100.0) / 100 * laydown * times
        for channel, laydown in laydown_ml_m2.items()
        if (times := times_laid(channel, layers))
    }
