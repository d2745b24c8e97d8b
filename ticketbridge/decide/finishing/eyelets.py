"""Where eyelets go. Lengths in mm; positions count from the lower left corner of the finished piece.

Common practice: an eyelet in each corner, its centre at the inset from both edges, and between the corners
so many that none is farther from the next than the spacing allows, all equally far apart.
"""

from math import ceil

from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.model.finishing import Edge, Eyelets

Point = tuple[float, float]


def intervals_along(side_mm: float, inset_mm: float, spacing_mm: float) -> int:
    """Equal distances between the corner eyelets of a side: ceil((L - 2 e) / s); 0 where one eyelet is all."""
    return max(0, ceil((side_mm - 2 * inset_mm - TOLERANCE_MM) / spacing_mm))


def eyelets_along(side_mm: float, inset_mm: float, spacing_mm: float) -> int:
    """Eyelets along one side, corners included: ceil((L - 2 e) / s) + 1."""
    return intervals_along(side_mm, inset_mm, spacing_mm) + 1


def even_spacing(side_mm: float, inset_mm: float, spacing_mm: float) -> float:
    """Distance between neighbours: (L - 2 e) / intervals; 0 where there is one eyelet only."""
    intervals = intervals_along(side_mm, inset_mm, spacing_mm)
    return (side_mm - 2 * inset_mm) / intervals if intervals else 0.0


def eyelets_round(width_mm: float, height_mm: float, eyelets: Eyelets) -> tuple[Point, ...]:
    """Centres of all eyelets of a piece, corners once, row by row from below.

    Given places are taken as they are. A side too short for two eyelets gets one in its middle.
    """
    if eyelets.at_mm:
        return eyelets.at_mm
    across, up = (_along(side_mm, eyelets) for side_mm in (width_mm, height_mm))
    sides: dict[Edge, list[Point]] = {
        Edge.BOTTOM: [(x, up[0]) for x in across],
        Edge.TOP: [(x, up[-1]) for x in across],
        Edge.LEFT: [(across[0], y) for y in up],
        Edge.RIGHT: [(across[-1], y) for y in up],
    }
    return tuple(
        sorted({point for edge in eyelets.edges for point in sides[edge]}, key=lambda p: (p[1], p[0]))
    )


def _along(side_mm: float, eyelets: Eyelets) -> list[float]:
    inset = eyelets.inset_mm
    if not intervals_along(side_mm, inset, eyelets.spacing_mm):
        return [side_mm / 2]
    if eyelets.corners_only:
        return [inset, side_mm - inset]
    intervals = intervals_along(side_mm, inset, eyelets.spacing_mm)
    pitch = even_spacing(side_mm, inset, eyelets.spacing_mm)
    return [*(inset + n * pitch for n in range(intervals)), side_mm - inset]
