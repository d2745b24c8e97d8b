"""What side-by-side printing costs the shorter lane: its roll goes on, blank, until the longer print has ended.

Both lanes step together from the first leading edges on; leader and trailer each roll needs in any case.
"""

from ticketbridge.decide.layout.formulas import waste_percent
from ticketbridge.model.layout import Layout


def blank_advance_mm(layout: Layout, beside: Layout) -> float:
    """Length of roll that runs blank because of what prints beside it; 0 for the longer of the two."""
    return max(0.0, beside.length_mm - layout.length_mm)


def waste_percent_beside(layout: Layout, beside: Layout) -> float:
    """Share of the used roll that is not a finished piece, blank advance included."""
    used_mm = layout.consumed_length_mm + blank_advance_mm(layout, beside)
    return waste_percent(layout.piece_area_mm2, used_mm * layout.roll_width_mm)
