"""The estimate of one job on one lane."""

from ticketbridge.decide.estimate.ink import ink_ml
from ticketbridge.decide.estimate.time import Image, advance_on, print_seconds, step_seconds_on, steps
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.layout import Layout
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.order import Item
from ticketbridge.model.press import Press
from ticketbridge.model.substrate import PrintMode


def estimate(
    layout: Layout,
    item: Item,
    mode: PrintMode,
    press: Press,
    experience: Experience = NOTHING_LEARNED,
) -> Estimate:
    """Time, ink and roll of a layout printed alone, corrected by what finished prints of its kind taught.

    The lane does not matter here: the span of a single print is its own width, or the beam. Ink is laid on
    all that is printed, bleed and overlaps included; it rests on the mode's typical coverage, and says so.
    """
    advance = advance_on(press, mode, item.layer_stack)
    image = Image(layout.image_left_mm, layout.image_width_mm, layout.length_mm)
    step_count = steps(layout.length_mm, press.head_swath_mm, advance)
    step_s = step_seconds_on(press, mode, (image,))
    printed_mm2 = sum(placed.width_mm * placed.height_mm for placed in layout.placements)
    time = experience.time.for_print(press.id, mode.id, item.substrate)
    ink = experience.ink.for_print(press.id, mode.id, item.substrate)
    bare_s = print_seconds(step_count, step_s)
    bare_ml = ink_ml(printed_mm2 / 1e6, mode.typical_coverage_percent, mode.laydown_ml_m2, item.layer_stack)
    return Estimate(
        advance_mm=advance,
        steps=step_count,
        step_s=step_s,
        print_s=bare_s * time.factor,
        ink_ml={channel: amount_ml * ink.factor for channel, amount_ml in bare_ml.items()},
        coverage_assumed=True,
        roll_length_mm=layout.consumed_length_mm,
        roll_area_m2=layout.consumed_area_mm2 / 1e6,
        waste_percent=layout.waste_percent,
        print_low_s=bare_s * time.low,
        print_high_s=bare_s * time.high,
        time_factor=time.factor,
        time_runs=time.runs,
        ink_low_share=ink.low / ink.factor,
        ink_high_share=ink.high / ink.factor,
        ink_factor=ink.factor,
        ink_runs=ink.runs,
    )
