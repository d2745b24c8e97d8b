"""Where the seams between panels go, so that none runs through a face or a word."""

from collections.abc import Sequence
from math import ceil
from typing import Final

from ticketbridge.decide.layout.formulas import TOLERANCE_MM, even_panel_width, panel_count
from ticketbridge.model.order import Item

Zone = tuple[float, float]
"""From and to, across the printed piece."""

_FINENESS_MM: Final = 0.1
"""Panels are made as even as this."""


def spans_between_zones(
    width_mm: float, widest_mm: float, overlap_mm: float, zones: Sequence[Zone]
) -> list[Zone] | None:
    """Left edge and width of each panel: as few as can be, and then as even as can be; None where no number will do.

    Panels are of even width where no seam falls into a zone. Neighbours share exactly the overlap, which lies
    outside every zone.

    Args:
        width_mm: Of the printed piece.
        widest_mm: The most a panel may be wide.
        overlap_mm: What neighbouring panels share.
        zones: Where no overlap may be.
    """
    fewest = panel_count(width_mm, widest_mm, overlap_mm)
    # A panel that ends before a zone and one that ends behind it are the most that a zone can ask for besides.
    for count in range(fewest, fewest + 2 * len(zones) + 1):
        even_mm = even_panel_width(width_mm, count, overlap_mm)
        even = [(number * (even_mm - overlap_mm), even_mm) for number in range(count)]
        if all(_free(left_mm, overlap_mm, zones) for left_mm, _ in even[1:]):
            return even
        if found := _narrowest(width_mm, widest_mm, overlap_mm, zones, count):
            return found
    return None


def zones_in_print(item: Item) -> list[Zone]:
    """The zones of an item, from its left edge as it is printed; a mirrored image has them the other way round."""
    left_mm = item.content_at_mm[0] + item.bleed_mm
    zones = item.keep_seams_from_mm
    if item.layer_stack.mirrored:
        zones = tuple((item.finished_width_mm - end, item.finished_width_mm - begin) for begin, end in zones)
    return sorted((left_mm + begin, left_mm + end) for begin, end in zones)


def _narrowest(
    width_mm: float, widest_mm: float, overlap_mm: float, zones: Sequence[Zone], count: int
) -> list[Zone] | None:
    """So many panels, none wider than need be: the narrowest width that will do is closed in on by halves."""
    if _greedy(width_mm, widest_mm, overlap_mm, zones, count) is None:
        return None
    low = ceil(even_panel_width(width_mm, count, overlap_mm) / _FINENESS_MM)
    high = ceil(widest_mm / _FINENESS_MM)
    while low < high:
        middle = (low + high) // 2
        if _greedy(width_mm, min(middle * _FINENESS_MM, widest_mm), overlap_mm, zones, count):
            high = middle
        else:
            low = middle + 1
    return _greedy(width_mm, min(high * _FINENESS_MM, widest_mm), overlap_mm, zones, count)


def _greedy(
    width_mm: float, widest_mm: float, overlap_mm: float, zones: Sequence[Zone], count: int
) -> list[Zone] | None:
    """Every panel as wide as zones let it be; None where so many do not reach the other edge."""
    lefts = [0.0]
    while width_mm - lefts[-1] > widest_mm + TOLERANCE_MM:
        left_mm = _last_free(lefts[-1] + widest_mm - overlap_mm, overlap_mm, zones)
        if left_mm < lefts[-1] + max(overlap_mm, TOLERANCE_MM) or len(lefts) == count:
            return None
        lefts.append(left_mm)
    rights = [left_mm + overlap_mm for left_mm in lefts[1:]] + [width_mm]
    return [(left_mm, right_mm - left_mm) for left_mm, right_mm in zip(lefts, rights, strict=True)]


def _last_free(left_mm: float, overlap_mm: float, zones: Sequence[Zone]) -> float:
    """The place for an overlap that is nearest to the left of a place, outside every zone."""
    for begin_mm, _ in sorted(zones, reverse=True):
        if not _free(left_mm, overlap_mm, zones):
            left_mm = min(left_mm, begin_mm - overlap_mm)
    return left_mm


def _free(left_mm: float, overlap_mm: float, zones: Sequence[Zone]) -> bool:
    """Whether an overlap that begins at a place touches no zone."""
    return all(
        left_mm + overlap_mm <= begin + TOLERANCE_MM or end - TOLERANCE_MM <= left_mm for begin, end in zones
    )
