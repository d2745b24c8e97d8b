"""The time model: how far the roll moves at a step, how long a step takes, at which step a piece is done.

The formulas are common practice for scanning inkjet presses. One carriage serves all lanes, so lanes that
run at once share the step and the sweep.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ticketbridge.press_sim.settings import PressSettings

_TOLERANCE_STEPS = 1e-9


@dataclass(frozen=True, slots=True)
class CarriageMode:
    """What lanes must have in common to run side by side.

    Attributes:
        passes: Sweeps over every place, for one layer.
        one_way: Prints in one direction only and travels back empty.
        layer_stack: The layers, first printed first.
    """

    passes: int
    one_way: bool
    layer_stack: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """What one lane prints across the beam: from the left to the right edge of its image, in mm."""

    left_mm: float
    right_mm: float


def advance_mm(head_swath_mm: float, mode: CarriageMode) -> float:
    """Step of the roll per sweep: the head's swath, divided by the passes of all layers."""
    return head_swath_mm / (mode.passes * len(mode.layer_stack))


def steps_to_clear(end_mm: float, head_swath_mm: float, mode: CarriageMode) -> int:
    """Steps until the whole head has passed a place ``end_mm`` behind the start of the print."""
    return math.ceil((end_mm + head_swath_mm) / advance_mm(head_swath_mm, mode) - _TOLERANCE_STEPS)


def step_s(press: PressSettings, mode: CarriageMode, spans: Sequence[Span]) -> float:
    """Seconds for one step while the given lanes run.

    The carriage travels from the leftmost to the rightmost image edge, or over the whole beam, and needs room
    to reach its speed and to stop: ``(span + 4 x ramp) / speed + dwell``. One-way printing travels twice.
    """
    if press.carriage_span == "beam":
        span_mm = press.beam_width_mm
    else:
        span_mm = max(span.right_mm for span in spans) - min(span.left_mm for span in spans)
    travel_mm = span_mm + 4 * press.ramp_mm
    return (2 if mode.one_way else 1) * travel_mm / press.carriage_speed_mm_s + press.dwell_s
