"""Units of the standard and of the shop. JDF counts lengths in points, thickness in micrometres.

Sources: 1 in = 25.4 mm exactly (international inch); 1 pt = 1/72 in (PDF default user space, ISO 32000,
and the JDF specification's length unit); 1 mil = 0.001 in.
"""

from typing import Final

MM_PER_INCH: Final = 25.4
POINTS_PER_INCH: Final = 72.0
MM_PER_POINT: Final = MM_PER_INCH / POINTS_PER_INCH


def mm_from_points(length_pt: float) -> float:
    """Points to millimetres; 1000 mm is 2834.645669 pt."""
    return length_pt * MM_PER_INCH / POINTS_PER_INCH


def points_from_mm(length_mm: float) -> float:
    """Millimetres to points."""
    return length_mm * POINTS_PER_INCH / MM_PER_INCH


def mm_from_inches(length_in: float) -> float:
    """Inches to millimetres."""
    return length_in * MM_PER_INCH


def mm_from_feet(length_ft: float) -> float:
    """Feet to millimetres; a foot is 12 in."""
    return length_ft * 12 * MM_PER_INCH


def um_from_mil(thickness_mil: float) -> float:
    """Thousandths of an inch to micrometres."""
    return thickness_mil * MM_PER_INCH


def g_m2_from_oz_yd2(weight_oz_yd2: float) -> float:
    """Ounces per square yard to grams per square metre; 1 oz = 28.349523125 g, 1 yd = 0.9144 m."""
    return weight_oz_yd2 * 28.349523125 / 0.9144**2


def number(value: float) -> str:
    """A number as JDF writes it: decimal point, at most six places, no exponent, no trailing zeros."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
