"""Whether a packing is one: judged from its placements alone, by nothing that made it."""

from collections.abc import Sequence
from itertools import combinations

from ticketbridge.decide.layout.packing import Packing, Part, Piece, Strip

NOISE_MM = 0.001
"""The micrometre that layouts call exact."""

Rectangle = tuple[float, float, float, float]
"""Left, leading, right and trailing edge."""


def faults(packing: Packing, pieces: Sequence[Piece], strip: Strip) -> list[str]:
    """What is wrong with a packing, in words; nothing where it is sound."""
    if len(packing.placed) != len(pieces):
        return [f"{len(packing.placed)} of {len(pieces)} pieces are placed"]
    found = []
    for number, (placed, piece) in enumerate(zip(packing.placed, pieces, strict=True), start=1):
        if placed.shape not in piece.shapes:
            found.append(f"piece {number} lies as it may not")
        inside = placed.x_mm >= 0 and placed.x_mm + placed.shape.width_mm <= strip.width_mm + NOISE_MM
        if not inside or placed.y_mm < 0:
            found.append(f"piece {number} lies outside")
    whole = [
        (one.x_mm, one.y_mm, one.x_mm + one.shape.width_mm, one.y_mm + one.shape.height_mm)
        for one in packing.placed
    ]
    found += _too_near(whole, strip.gap_mm)
    found += _too_near([_edges(part) for one in packing.placed for part in one.parts], strip.gap_mm)
    farthest = max(trailing for _, _, _, trailing in whole)
    if abs(farthest - packing.length_mm) > NOISE_MM:
        found.append(f"the length is {farthest:g} mm and said to be {packing.length_mm:g} mm")
    if packing.bound_mm > packing.length_mm + NOISE_MM:
        found.append("the bound is above the length")
    return found


def _edges(part: Part) -> Rectangle:
    return part.x_mm, part.y_mm, part.x_mm + part.width_mm, part.y_mm + part.height_mm


def _too_near(rectangles: Sequence[Rectangle], gap_mm: float) -> list[str]:
    """Pairs that overlap or have less than the gap between them, in both directions."""
    gap = gap_mm - NOISE_MM
    in_order = sorted(rectangles, key=lambda one: one[1])
    found = []
    open_ones: list[Rectangle] = []
    for one in in_order:
        open_ones = [other for other in open_ones if other[3] + gap > one[1]]
        found += [
            f"{one} and {other} are too near"
            for other in open_ones
            if not (other[2] + gap <= one[0] or one[2] + gap <= other[0])
        ]
        open_ones.append(one)
    return found


def comes_apart(rectangles: Sequence[Rectangle]) -> bool:
    """Whether cuts from edge to edge part all rectangles: the definition, tried at every trailing and right edge."""
    if len(rectangles) < 2:
        return True
    for low, high in ((0, 2), (1, 3)):
        for at in sorted({one[high] for one in rectangles})[:-1]:
            before = [one for one in rectangles if one[high] <= at + NOISE_MM]
            behind = [one for one in rectangles if one[low] >= at - NOISE_MM]
            if before and behind and len(before) + len(behind) == len(rectangles):
                return comes_apart(before) and comes_apart(behind)
    return False


def overlapping(rectangles: Sequence[Rectangle]) -> bool:
    """The plain quadratic test, to doubt the sweep above."""
    return any(
        one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
        for one, other in combinations(rectangles, 2)
    )
