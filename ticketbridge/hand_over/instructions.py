"""What people read in the lane's ticket about panels and finishing."""

from collections.abc import Iterator

from ticketbridge.model.finishing import ALL_EDGES, Edge, Eyelets
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item


def panels_in_words(item: Item, layout: Layout) -> Iterator[str]:
    """How a piece is made of its panels or drops; nothing where it is whole."""
    if not layout.panels:
        return
    count, overlap = len(layout.panels), f"overlap {item.panel_overlap_mm:g} mm"
    if item.pattern is None:
        yield f"{count} panels each, {overlap}, one lot, one direction."
        return
    yield f"{count} drops each, numbered from the left, {overlap}, one lot, one direction."
    if item.pattern.repeat_mm is None:
        return
    repeats = f"The pattern repeats every {item.pattern.repeat_mm:g} mm, {item.pattern.match.value} match"
    if layout.pitch_mm is not None:
        yield f"{repeats}: printed in one go, cut every {layout.pitch_mm:g} mm."
    else:
        yield f"{repeats}: each drop begins at its own place of it, hang them by their numbers."


def finishing_in_words(item: Item) -> Iterator[str]:
    """What is to be done to the pieces after printing."""
    finishing = item.finishing
    if finishing.hem:
        yield f"Hem {finishing.hem.width_mm:g} mm {_on(finishing.hem.edges)}."
    if finishing.pole_pocket:
        yield f"Pole pocket {finishing.pole_pocket.flat_mm:g} mm flat {_on(finishing.pole_pocket.edges)}."
    if finishing.eyelets:
        yield _eyelets(finishing.eyelets)
    if finishing.trim:
        yield f"Trim to {item.finished_width_mm:g} x {item.finished_height_mm:g} mm."
    if finishing.contour_cut:
        yield "Cut along the contour."
    if finishing.laminate:
        yield f"Laminate: {finishing.laminate}."


def _eyelets(eyelets: Eyelets) -> str:
    if eyelets.at_mm:
        return f"{len(eyelets.at_mm)} eyelets at given places."
    where = f"{_on(eyelets.edges)}, {eyelets.inset_mm:g} mm from the edge"
    if eyelets.corners_only:
        return f"Eyelets in the corners {where}."
    return f"Eyelets {where}, at most {eyelets.spacing_mm:g} mm apart."


def _on(edges: tuple[Edge, ...]) -> str:
    return "on all edges" if set(edges) == set(ALL_EDGES) else f"at the {' and '.join(edges)}"
