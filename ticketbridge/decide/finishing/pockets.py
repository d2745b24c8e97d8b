"""What a pole asks of its pocket."""

from math import pi


def least_flat_width_mm(pole_mm: float) -> float:
    """Flat width that goes just round a pole: half its circumference. Ease, so that it slides, is extra."""
    return pi * pole_mm / 2
