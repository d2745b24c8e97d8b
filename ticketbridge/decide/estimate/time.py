"""How long a print takes: the carriage sweeps, the roll steps.

The model of a swath press, common practice: the head prints a swath; the roll advances by the part of it
that passes and layers leave; the carriage needs a distance, the ramp, to reach its speed and the same to
stop. Over a ramp the mean speed is half, so each of the two ramps costs the time of two at full speed:
hence 4 x ramp.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.model.press import CarriageSpan, Press
from ticketbridge.model.substrate import Direction, LayerStack, PrintMode


@dataclass(frozen=True, slots=True)
class Image:
    """What one lane prints, on the beam.

    Attributes:
        left_mm: Leftmost printed edge, from the beam's left end.
        width_mm: From the leftmost to the rightmost printed edge.
        length_mm: Along the feed.
    """

    left_mm: float
    width_mm: float
    length_mm: float


def advance_mm(head_swath_mm: float, passes: int, sequential_layers: int) -> float:
    """Step of the roll: head swath / (passes x layers laid one after the other)."""
    return head_swath_mm / (passes * sequential_layers)


def advance_on(press: Press, mode: PrintMode, stack: LayerStack) -> float:
    """Step of the roll on a press, in mm: the mode's measured one where there is one, else the formula."""
    measured = press.advance_mm.get(mode.id)
    return measured or advance_mm(press.head_swath_mm, mode.passes, len(stack.layers))


def steps(length_mm: float, head_swath_mm: float, advance_mm: float) -> int:
    """Steps for a length: ceil((length + head swath) / advance); the whole head has to pass the last line."""
    return ceil((length_mm + head_swath_mm - TOLERANCE_MM) / advance_mm)


def sweeps(direction: Direction) -> int:
    """Sweeps of the carriage at each step: one-way modes print on the way out and come back empty."""
    return 2 if direction is Direction.ONE_WAY else 1


def step_seconds(
    span_mm: float, ramp_mm: float, speed_mm_s: float, dwell_s: float, sweeps_per_step: int
) -> float:
    """Seconds for one step: sweeps x ((span + 4 x ramp) / speed + dwell)."""
    return sweeps_per_step * ((span_mm + 4 * ramp_mm) / speed_mm_s + dwell_s)


def span_mm(press: Press, images: Sequence[Image]) -> float:
    """How far the carriage travels: the full beam, or from the leftmost to the rightmost printed edge."""
    if press.carriage_span is CarriageSpan.BEAM:
        return press.beam_width_mm
    return max(i.left_mm + i.width_mm for i in images) - min(i.left_mm for i in images)


def step_seconds_on(press: Press, mode: PrintMode, images: Sequence[Image]) -> float:
    """Seconds for one step on a press while these images are printed."""
    return step_seconds(
        span_mm(press, images),
        press.ramp_mm,
        press.carriage_speed_mm_s,
        press.dwell_s,
        sweeps(mode.direction),
    )


def print_seconds(step_count: int, step_s: float) -> float:
    """Seconds for a print: steps x seconds per step."""
    return step_count * step_s


def side_by_side_seconds(press: Press, mode: PrintMode, stack: LayerStack, images: Sequence[Image]) -> float:
    """Seconds for prints that start together on lanes of one press.

    All share the step and the mode. The span covers the prints that are still going, gap included; where
    one ends, the rest goes on over its own span. With one image this is the time of a single print.
    """
    advance = advance_on(press, mode, stack)
    going = sorted(images, key=lambda image: image.length_mm)
    seconds, done = 0.0, 0
    for number, image in enumerate(going):
        until = steps(image.length_mm, press.head_swath_mm, advance)
        seconds += print_seconds(until - done, step_seconds_on(press, mode, going[number:]))
        done = until
    return seconds
