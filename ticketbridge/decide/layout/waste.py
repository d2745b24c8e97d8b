"""What becomes of the roll that is used and not sold, cause by cause."""

from collections.abc import Mapping, Sequence

from ticketbridge.model.layout import Layout, WasteCause
from ticketbridge.model.order import Item


def waste_mm2_by_cause(parts: Sequence[tuple[Layout, Item]]) -> Mapping[WasteCause, float]:
    """Area of every cause; together they are the used roll less the finished pieces.

    Args:
        parts: A layout and its item, or all layouts of a run with theirs.
    """
    whole, _ = parts[0]
    length_mm = whole.length_mm
    placed_mm2 = sum(
        placed.width_mm * placed.height_mm for layout, _ in parts for placed in layout.placements
    )
    return {
        WasteCause.ENDS: (whole.leader_mm + whole.trailer_mm) * whole.roll_width_mm,
        WasteCause.EDGES: (whole.roll_width_mm - whole.usable_width_mm) * length_mm,
        WasteCause.BETWEEN: whole.usable_width_mm * length_mm - placed_mm2,
        WasteCause.MATCH: sum(_match_mm2(layout, item) for layout, item in parts),
        WasteCause.OVERLAP: sum(_overlap_mm2(layout, item) for layout, item in parts),
        WasteCause.ALLOWANCES: sum(_allowances_mm2(item) for _, item in parts),
    }


def _match_mm2(layout: Layout, item: Item) -> float:
    """What drops are printed on beyond their height, to the next place of the repeat."""
    if layout.pitch_mm is None:
        return 0.0
    height_mm = item.printed_height_mm
    return sum(placed.width_mm * (placed.height_mm - height_mm) for placed in layout.placements)


def _overlap_mm2(layout: Layout, item: Item) -> float:
    """What is printed twice, where one panel lies on the next."""
    if not layout.panels:
        return 0.0
    beyond_mm = sum(panel.width_mm for panel in layout.panels) - item.printed_width_mm
    return item.quantity * beyond_mm * item.printed_height_mm


def _allowances_mm2(item: Item) -> float:
    """Bleed, hems and pockets: printed, and not seen as a piece."""
    printed_mm2 = item.printed_width_mm * item.printed_height_mm
    return item.quantity * (printed_mm2 - item.finished_width_mm * item.finished_height_mm)
