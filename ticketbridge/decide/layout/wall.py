"""The formulas of hanging a wallcovering, one function each. Lengths in any one unit, here mm.

They are common practice of paperhangers: a drop is one strip from top to bottom of the wall. Where a pattern
must meet its neighbour, the roll is cut at places of the repeat and not at the height of the wall; the
last drop of a roll needs no more than the height.
"""

from math import ceil, floor

from ticketbridge.decide.layout.formulas import TOLERANCE_MM, panel_count
from ticketbridge.model.pattern import Match


def drops_across(wall_mm: float, strip_mm: float, overlap_mm: float = 0) -> int:
    """Drops that cover a wall: ceil((W - o) / (strip - o)).

    Raises:
        ValueError: The overlap takes the whole strip.
    """
    return panel_count(wall_mm, strip_mm, overlap_mm)


def pitch_mm(height_mm: float, match: Match, repeat_mm: float | None) -> float:
    """From the start of one drop on the roll to the start of the next.

    Straight: the smallest multiple of the repeat that is not below the height. Half drop, cut from one
    roll: the smallest odd multiple of half the repeat, so that every other drop begins half a repeat
    later. Cut from two rolls, one for each phase, a half drop is cut like a straight match. A mural is
    cut at its height.
    """
    if match is Match.NONE or repeat_mm is None:
        return height_mm
    if match is Match.STRAIGHT:
        return ceil((height_mm - TOLERANCE_MM) / repeat_mm) * repeat_mm
    halves = ceil((height_mm - TOLERANCE_MM) / (repeat_mm / 2))
    return (halves + 1 - halves % 2) * repeat_mm / 2


def drops_per_roll(roll_mm: float, height_mm: float, pitch_mm: float) -> int:
    """Drops that come from one roll: 1 + floor((roll - height) / pitch); 0 where not one does."""
    if roll_mm + TOLERANCE_MM < height_mm:
        return 0
    return 1 + floor((roll_mm - height_mm + TOLERANCE_MM) / pitch_mm)


def rolls_needed(drops: int, per_roll: int) -> int:
    """Rolls for so many drops: ceil(drops / drops per roll).

    Raises:
        ValueError: Not one drop comes from a roll.
    """
    if per_roll < 1:
        raise ValueError("no roll is long enough for one drop")
    return ceil(drops / per_roll)


def match_waste_mm(height_mm: float, pitch_mm: float) -> float:
    """What the match costs at each drop but the last: pitch - height."""
    return pitch_mm - height_mm


def own_phase_mm(drop: int, match: Match, repeat_mm: float | None) -> float:
    """Where in the repeat a drop begins that is printed by itself: every other one of a half drop half a repeat on."""
    return repeat_mm / 2 if match is Match.HALF_DROP and repeat_mm is not None and drop % 2 else 0.0


def phase_mm(drop: int, pitch_mm: float, repeat_mm: float | None) -> float:
    """Where in the repeat a drop begins, drops counted from 0 and cut one after the other from one roll."""
    if repeat_mm is None:
        return 0.0
    phase = drop * pitch_mm % repeat_mm
    return 0.0 if repeat_mm - phase < TOLERANCE_MM else phase
