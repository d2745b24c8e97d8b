"""The cuts that take the pieces off the roll: across its whole width first, then what came off, along and across.

Cuts lie in the middle of the free space, on the printed edge where there is none. They part the printed pieces;
what is trimmed off each of them, bleed and hems, is finishing.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.model.cut_list import Cut, CutList, Direction
from ticketbridge.model.layout import Placement


def cut_list(placements: Sequence[Placement]) -> CutList:
    """The cuts for the pieces of a layout, or of all layouts of a run."""
    cuts, by_hand = list[Cut](), list[tuple[Placement, ...]]()
    waiting = [(list(placements), Direction.ACROSS)]
    while waiting:
        part, direction = waiting.pop()
        bands = list(_bands(part, direction))
        if len(bands) == 1:
            direction = Direction.ALONG if direction is Direction.ACROSS else Direction.ACROSS
            bands = list(_bands(part, direction))
        if len(bands) > 1:
            cuts += _between(bands, part, direction)
            other = Direction.ALONG if direction is Direction.ACROSS else Direction.ACROSS
            waiting += [(band, other) for band in reversed(bands)]
        elif len(part) > 1:
            by_hand.append(tuple(part))
    return CutList(tuple(cuts), tuple(by_hand))


def _span(placed: Placement, direction: Direction) -> tuple[float, float]:
    """Begin and end of a piece, in the direction in which cuts follow one another."""
    if direction is Direction.ACROSS:
        return placed.y_mm, placed.y_mm + placed.height_mm
    return placed.x_mm, placed.x_mm + placed.width_mm


def _bands(part: Sequence[Placement], direction: Direction) -> Iterator[list[Placement]]:
    """Pieces that no cut of a direction parts."""
    band, end_mm = list[Placement](), 0.0
    for placed in sorted(part, key=lambda one: _span(one, direction)):
        begin, end = _span(placed, direction)
        if band and begin >= end_mm - TOLERANCE_MM:
            yield band
            band, end_mm = [], 0.0
        band.append(placed)
        end_mm = max(end_mm, end)
    yield band


def _between(
    bands: Sequence[Sequence[Placement]], part: Sequence[Placement], direction: Direction
) -> Iterator[Cut]:
    other = Direction.ALONG if direction is Direction.ACROSS else Direction.ACROSS
    spans = [_span(placed, other) for placed in part]
    begin_mm, end_mm = min(begin for begin, _ in spans), max(end for _, end in spans)
    for before, behind in pairwise(bands):
        last = max(_span(placed, direction)[1] for placed in before)
        first = min(_span(placed, direction)[0] for placed in behind)
        yield Cut(direction, (last + first) / 2, begin_mm, end_mm)
