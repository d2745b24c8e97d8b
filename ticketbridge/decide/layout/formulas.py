"""The formulas of a layout, one function each. Lengths in mm, areas in mm2.

They are common practice in the trade: pieces of one size stand in a grid, and what is too wide for the
roll is cut into strips of even width that overlap for the weld.
"""

from math import ceil, floor
from typing import Final

TOLERANCE_MM: Final = 0.001
"""A micrometre. Sizes arrive in points, so 500 mm may read as 500.0000000001, and three of them would not fit
a usable width of 1500 mm. No press places a piece as finely as this, so nothing real is lost."""


def copies_across(usable_width_mm: float, width_mm: float, gap_mm: float) -> int:
    """How many pieces fit beside each other: floor((usable + gap) / (width + gap)); 0 where none does."""
    return max(0, floor((usable_width_mm + gap_mm + TOLERANCE_MM) / (width_mm + gap_mm)))


def length_for_rows(rows: int, height_mm: float, gap_mm: float) -> float:
    """Length of so many rows: rows x height + (rows - 1) x gap.

    Summed as the rows are placed, so that it equals the last trailing edge to the last bit.
    """
    return (rows - 1) * (height_mm + gap_mm) + height_mm


def panel_count(width_mm: float, printable_width_mm: float, overlap_mm: float) -> int:
    """How many panels a piece needs: ceil((W - o) / (P - o)); 1 where it fits whole.

    Raises:
        ValueError: The overlap takes the whole printable width, so that no number of panels is enough.
    """
    if overlap_mm >= printable_width_mm:
        raise ValueError(f"an overlap of {overlap_mm:g} mm leaves nothing of {printable_width_mm:g} mm")
    return max(1, ceil((width_mm - overlap_mm - TOLERANCE_MM) / (printable_width_mm - overlap_mm)))


def even_panel_width(width_mm: float, panels: int, overlap_mm: float) -> float:
    """Width of each of so many equal panels, overlap included: (W + (n - 1) x o) / n."""
    return (width_mm + (panels - 1) * overlap_mm) / panels


def waste_percent(piece_area_mm2: float, roll_area_mm2: float) -> float:
    """Share of the used roll that is not a finished piece: 1 - pieces / roll, in per cent."""
    return 100 * (1 - piece_area_mm2 / roll_area_mm2)
