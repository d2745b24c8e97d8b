"""Several items on one stretch of a roll: of one order, or of several that share substrate and print mode."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Final

from ticketbridge.decide.layout.arrange import arrange
from ticketbridge.decide.layout.arrangement import Arrangement, slot_height_mm
from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.decide.layout.lay_out import place
from ticketbridge.decide.layout.packing import (
    QUICK,
    Cutting,
    Effort,
    Part,
    Piece,
    Placed,
    Shape,
    Strip,
    pack,
    panel_set,
)
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.model.layout import Layout, Placement, Run
from ticketbridge.model.marks import NO_MARKS, Marks
from ticketbridge.model.order import Item

MOST_PACKED: Final = 1_000
"""More pieces than this are laid item after item: packing them would hold up the bridge for some tenths of a second."""


@dataclass(frozen=True, slots=True)
class RollMeasures:
    """The roll, and what a lane keeps free on it.

    Attributes:
        usable_width_mm: Width that may be printed, between the margins.
        roll_width_mm: Full width of the roll, which is what is used up.
        gap_mm: Free distance between neighbours.
        leader_mm: Unprinted length before the first piece.
        trailer_mm: Unprinted length after the last.
        marks: Marks that are printed beside the pieces, in room of their own.
    """

    usable_width_mm: float
    roll_width_mm: float
    gap_mm: float
    leader_mm: float
    trailer_mm: float
    marks: Marks = NO_MARKS


def lay_out_together(
    items: Sequence[Item],
    roll: RollMeasures,
    cutting: Cutting = Cutting.GUILLOTINE,
    effort: Effort = QUICK,
) -> Run | LayoutProblem:
    """Lay several items on one stretch, or say why the first that cannot be laid out cannot.

    The pieces are packed; where that is not shorter than one item after the other, each in its own rows, they
    stay in their rows. Panels of one piece stay together and in order, the drops of a repeating pattern in one
    go. Pieces of an item are numbered as they come out.

    Args:
        items: What to print; they share substrate, print mode and layers.
        roll: What it is printed on.
        cutting: How the pieces come off the roll.
        effort: How long to search.
    """
    arrangements = list[Arrangement]()
    for item in items:
        arrangement = arrange(item, roll.usable_width_mm, roll.gap_mm, roll.marks)
        if isinstance(arrangement, LayoutProblem):
            return arrangement
        arrangements.append(arrangement)
    in_rows = _one_after_another(items, arrangements, roll)
    if len(items) == 1 or sum(one.count for one in arrangements) > MOST_PACKED:
        return in_rows
    packed = _packed(items, arrangements, roll, cutting, effort)
    return packed if packed.length_mm < in_rows.length_mm - TOLERANCE_MM else in_rows


def _one_after_another(items: Sequence[Item], arrangements: Sequence[Arrangement], roll: RollMeasures) -> Run:
    parts, begin_mm = list[Layout](), 0.0
    for item, arrangement in zip(items, arrangements, strict=True):
        layout = place(
            arrangement,
            item,
            roll.usable_width_mm,
            roll.roll_width_mm,
            roll.gap_mm,
            roll.leader_mm,
            roll.trailer_mm,
        )
        moved = [replace(placed, y_mm=placed.y_mm + begin_mm) for placed in layout.placements]
        parts.append(replace(layout, placements=tuple(moved)))
        begin_mm += layout.length_mm + roll.gap_mm
    length_mm = begin_mm - roll.gap_mm
    return Run(tuple(replace(part, length_mm=length_mm) for part in parts))


def _packed(
    items: Sequence[Item],
    arrangements: Sequence[Arrangement],
    roll: RollMeasures,
    cutting: Cutting,
    effort: Effort,
) -> Run:
    strip = Strip(roll.usable_width_mm, roll.gap_mm, cutting)
    kinds = [_piece(item, arranged, strip) for item, arranged in zip(items, arrangements, strict=True)]
    packing = pack(
        list(chain.from_iterable([kind] * item.quantity for kind, item in zip(kinds, items, strict=True))),
        strip,
        effort,
    )
    waiting = iter(packing.placed)
    parts = []
    for item, arrangement in zip(items, arrangements, strict=True):
        own = [next(waiting) for _ in range(item.quantity)]
        own.sort(key=lambda placed: (placed.y_mm, placed.x_mm))
        parts.append(_part(item, arrangement, own, packing.length_mm, roll))
    return Run(tuple(parts))


def _piece(item: Item, arrangement: Arrangement, strip: Strip) -> Piece:
    """One copy of an item with the room of its marks, as the packing takes it."""
    marks, height = arrangement.marks, arrangement.height_mm
    widths = [panel.width_mm + 2 * marks.margin_mm for panel in arrangement.panels]
    if arrangement.pitch_mm is not None:
        return _drops_in_one_go(arrangement, arrangement.pitch_mm, max(widths))
    if widths:
        return panel_set(widths, slot_height_mm(height, marks), strip)
    sizes = [(item.printed_width_mm, item.printed_height_mm, False)]
    if item.may_rotate and item.pattern is None:
        sizes.append((item.printed_height_mm, item.printed_width_mm, True))
    slots = [
        Shape(width_mm + 2 * marks.margin_mm, slot_height_mm(height_mm, marks), turned)
        for width_mm, height_mm, turned in sizes
    ]
    return Piece(tuple(slots))


def _drops_in_one_go(arrangement: Arrangement, pitch_mm: float, slot_width_mm: float) -> Piece:
    """The drops of one wall, printed on from one to the next: a block that nothing comes between."""
    drops = len(arrangement.panels)
    slot_height = slot_height_mm(arrangement.height_mm, arrangement.marks)
    parts = [Part(0.0, drop * pitch_mm, slot_width_mm, slot_height) for drop in range(drops)]
    return Piece((Shape(slot_width_mm, (drops - 1) * pitch_mm + slot_height, parts=tuple(parts)),))


def _part(
    item: Item, arrangement: Arrangement, own: Sequence[Placed], length_mm: float, roll: RollMeasures
) -> Layout:
    """What one item has of the run."""
    placements = tuple(
        chain.from_iterable(
            _placements(number, placed, item, arrangement) for number, placed in enumerate(own)
        )
    )
    leading_edges = [placed.y_mm for placed in placements]
    left_mm = min(placed.x_mm for placed in placements) - arrangement.marks.margin_mm
    right_mm = max(placed.x_mm + placed.width_mm for placed in placements) + arrangement.marks.margin_mm
    return Layout(
        usable_width_mm=roll.usable_width_mm,
        roll_width_mm=roll.roll_width_mm,
        across=max(leading_edges.count(edge) for edge in set(leading_edges)),
        rows=len(set(leading_edges)),
        rotated=all(placed.rotated for placed in placements),
        panels=arrangement.panels,
        placements=placements,
        length_mm=length_mm,
        leader_mm=roll.leader_mm,
        trailer_mm=roll.trailer_mm,
        image_left_mm=left_mm,
        image_width_mm=right_mm - left_mm,
        piece_area_mm2=item.quantity * item.finished_width_mm * item.finished_height_mm,
        marks=arrangement.marks,
        pitch_mm=arrangement.pitch_mm,
    )


def _placements(number: int, placed: Placed, item: Item, arrangement: Arrangement) -> Iterator[Placement]:
    """One copy at its place: whole, or its panels."""
    margin_mm = arrangement.marks.margin_mm
    if not arrangement.panels:
        width_mm, height_mm = item.printed_width_mm, item.printed_height_mm
        if placed.shape.turned:
            width_mm, height_mm = height_mm, width_mm
        x_mm, y_mm = placed.x_mm + margin_mm, placed.y_mm + margin_mm
        yield Placement(number, 0, x_mm, y_mm, width_mm, height_mm, placed.shape.turned)
        return
    for panel, part in zip(arrangement.panels, placed.parts, strict=True):
        goes_on = arrangement.pitch_mm is not None and panel.column < len(arrangement.panels) - 1
        yield Placement(
            number,
            panel.column,
            part.x_mm + margin_mm,
            part.y_mm + margin_mm,
            panel.width_mm,
            arrangement.pitch_mm if goes_on and arrangement.pitch_mm else arrangement.height_mm,
            rotated=False,
        )
