"""What is done to a piece after printing, as far as it decides how large the piece is printed.

Edges and positions are those of the finished piece as it is seen: bottom is the edge of the artwork's lower
side, and positions count from the lower left corner.
"""

from enum import StrEnum
from typing import Final

from ticketbridge.model.substrate import FromOutside, NotNegative, Positive


class Edge(StrEnum):
    """An edge of the finished piece."""

    TOP = "top"
    RIGHT = "right"
    BOTTOM = "bottom"
    LEFT = "left"


ALL_EDGES: Final = tuple(Edge)


class Hem(FromOutside):
    """A hem: the substrate is folded over and welded or sewn."""

    width_mm: Positive
    """What is folded over; 25 to 30 mm is common practice."""
    edges: tuple[Edge, ...] = ALL_EDGES


class PolePocket(FromOutside):
    """A pocket for a pole, in place of a hem on its edges."""

    flat_mm: Positive
    """Flat width from the fold to the seam: half the pole's circumference at least, and some ease."""
    seam_mm: NotNegative = 20
    """Width of the weld beyond it."""
    edges: tuple[Edge, ...] = (Edge.TOP, Edge.BOTTOM)


class Eyelets(FromOutside):
    """Eyelets along edges, evenly spaced, or at given places."""

    inset_mm: Positive = 25
    """Centre of an eyelet from the finished edge."""
    spacing_mm: Positive = 500
    """Neighbours are at most so far apart; every 500 mm is the European habit, every 2 ft the North American."""
    edges: tuple[Edge, ...] = ALL_EDGES
    corners_only: bool = False
    """None between the corners of the edges."""
    at_mm: tuple[tuple[NotNegative, NotNegative], ...] = ()
    """Given places, from the lower left corner of the finished piece; they replace the even spacing."""


class Finishing(FromOutside):
    """Everything that is done to a piece; nothing unless said."""

    hem: Hem | None = None
    """A hem; it is printed too, so the piece comes out larger."""
    pole_pocket: PolePocket | None = None
    """Pole pockets; they are printed too, and take the place of the hem on their edges."""
    eyelets: Eyelets | None = None
    """Eyelets."""
    trim: bool = False
    """Cut to size after printing."""
    contour_cut: bool = False
    """Cut along a contour of the artwork."""
    laminate: str = ""
    """The laminate wished for, in words for the operator."""

    def allowance_mm(self, edge: Edge) -> float:
        """What is printed beyond an edge, to be folded over: the pocket with its seam, else the hem."""
        if self.pole_pocket and edge in self.pole_pocket.edges:
            return self.pole_pocket.flat_mm + self.pole_pocket.seam_mm
        if self.hem and edge in self.hem.edges:
            return self.hem.width_mm
        return 0.0
