"""The estimate of one job on one lane."""

from ticketbridge.decide.estimate.ink import ink_ml
from ticketbridge.decide.estimate.time import Image, advance_on, print_seconds, step_seconds_on, steps
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item
from ticketbridge.model.press import Press
from ticketbridge.model.substrate import PrintMode


def estimate(layout: Layout, item: Item, mode: PrintMode, press: Press) -> Estimate:
    """Time, ink and roll of a layout printed alone.

    The lane does not matter here: the span of a single print is its own width, or the beam. Ink is laid on
    all that is printed, bleed and overlaps included; it rests on the mode's typical coverage, and says so.
    """
    advance = advance_on(press, mode, item.layer_stack)
    image = Image(layout.image_left_mm, layout.image_width_mm, layout.length_mm)
    step_count = steps(layout.length_mm, press.head_swath_mm, advance)
    step_s = step_seconds_on(press, mode, (image,))
    printed_mm2 = sum(placed.width_mm * placed.height_mm for placed in layout.placements)
    return Estimate(
        advance_mm=advance,
        steps=step_count,
        step_s=step_s,
        print_s=print_seconds(step_count, step_s),
        ink_ml=ink_ml(printed_mm2 / 1e6, mode.typical_coverage_percent, mode.laydown_ml_m2, item.layer_stack),
        coverage_assumed=True,
        roll_length_mm=layout.consumed_length_mm,
        roll_area_m2=layout.consumed_area_mm2 / 1e6,
        waste_percent=layout.waste_percent,
    )
