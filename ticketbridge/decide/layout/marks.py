"""Where the marks of a layout are printed: slug lines, cut marks, eyelet marks.

The room for them is already in the layout, so this changes nothing about it. Coordinates are the layout's.
"""

from collections.abc import Iterator
from typing import Final

from ticketbridge.decide.barcode import bars_of
from ticketbridge.decide.finishing.eyelets import eyelets_round
from ticketbridge.model.layout import Layout, Placement
from ticketbridge.model.marks import MODULE_MM, QUIET_MODULES, Mark, MarkKind
from ticketbridge.model.order import Item

EYELET_MARK_MM: Final = 4.0
"""Diameter of an eyelet mark; an eyelet covers it (common practice)."""


def marks_on(layout: Layout, item: Item, job_id: str, queue_entry_id: str) -> tuple[Mark, ...]:
    """All marks of a job, piece by piece.

    Args:
        layout: Where the pieces lie, and which marks room was left for.
        item: What is printed.
        job_id: For the slug line.
        queue_entry_id: For the slug line and its barcode: ``Q000012-1`` is the first piece, ``Q000012-1-2``
            the second panel of it.
    """
    wanted, marks = layout.marks, list[Mark]()
    for placed in layout.placements:
        if wanted.cut:
            marks += _cut_marks(layout, item, placed)
        if wanted.eyelets:
            marks += _eyelet_marks(layout, item, placed)
        if wanted.slug_line and not _printed_on(layout, placed):
            marks.append(_slug_line(layout, item, placed, job_id, queue_entry_id))
    return tuple(marks)


def _printed_on(layout: Layout, placed: Placement) -> bool:
    """Whether the next drop of the wall follows without a gap."""
    return layout.pitch_mm is not None and placed.panel < len(layout.panels) - 1


def _slug_line(layout: Layout, item: Item, placed: Placement, job_id: str, queue_entry_id: str) -> Mark:
    piece = f"{job_id}  {queue_entry_id}  piece {placed.piece + 1} of {item.quantity}"
    barcode = f"{queue_entry_id}-{placed.piece + 1}"
    if layout.pitch_mm is not None:
        piece += f", drops 1 to {len(layout.panels)}"
    elif layout.panels:
        word = "panel" if item.pattern is None else "drop"
        piece += f", {word} {layout.panels[placed.panel].label}"
        barcode += f"-{placed.panel + 1}"
    bars = bars_of(barcode)
    if (sum(bars) + 2 * QUIET_MODULES) * MODULE_MM > placed.width_mm:
        barcode, bars = "", ()
    y_mm = placed.y_mm + placed.height_mm + layout.marks.margin_mm
    return Mark(
        MarkKind.SLUG_LINE,
        placed.x_mm,
        y_mm,
        placed.width_mm,
        layout.marks.slug_mm,
        text=piece,
        barcode=barcode,
        bars=bars,
    )


def _cut_marks(layout: Layout, item: Item, placed: Placement) -> Iterator[Mark]:
    """A mark at each corner; between drops that are printed on only at the sides, as the rest is print."""
    margin = layout.marks.margin_mm
    left, leading, right, trailing = cut_box(layout, item, placed)
    edges_x = {-1: (left, placed.x_mm), 1: (right, placed.x_mm + placed.width_mm)}
    edges_y = {-1: (leading, placed.y_mm), 1: (trailing, placed.y_mm + placed.height_mm)}
    goes_on = {-1: layout.pitch_mm is not None and placed.panel > 0, 1: _printed_on(layout, placed)}
    for way_y, (cut_y, printed_y) in edges_y.items():
        for way_x, (cut_x, printed_x) in edges_x.items():
            outer_x = printed_x + way_x * margin
            outer_y = cut_y if goes_on[way_y] else printed_y + way_y * margin
            yield Mark(
                MarkKind.CUT,
                min(cut_x, outer_x),
                min(cut_y, outer_y),
                abs(outer_x - cut_x),
                abs(outer_y - cut_y),
                at_mm=(cut_x, cut_y),
                outward=(way_x, 0 if goes_on[way_y] else way_y),
            )


def cut_box(layout: Layout, item: Item, placed: Placement) -> tuple[float, float, float, float]:
    """Left, leading, right and trailing edge where a piece or panel is cut.

    Bleed is cut off, but not where a panel meets the next one. The bleed of a wallcovering is its trim
    allowance and stays on until it hangs; a drop is cut at its height, not at the pitch.
    """
    height = item.printed_height_mm if layout.pitch_mm is not None else placed.height_mm
    right, trailing = placed.x_mm + placed.width_mm, placed.y_mm + height
    if item.pattern is not None:
        return placed.x_mm, placed.y_mm, right, trailing
    bleed, last = item.bleed_mm, max(0, len(layout.panels) - 1)
    return (
        placed.x_mm + (bleed if placed.panel == 0 else 0),
        placed.y_mm + bleed,
        right - (bleed if placed.panel == last else 0),
        trailing - bleed,
    )


def _eyelet_marks(layout: Layout, item: Item, placed: Placement) -> Iterator[Mark]:
    """On the first panel that has the place; the weld puts the next one under it."""
    for x_mm, y_mm in _eyelets_in_print(item):
        if layout.panels and _panel_at(layout, x_mm) != placed.panel:
            continue
        along = x_mm - (layout.panels[placed.panel].left_mm if layout.panels else 0)
        centre = (placed.x_mm + along, placed.y_mm + y_mm)
        if placed.rotated:
            centre = (placed.x_mm + placed.width_mm - y_mm, placed.y_mm + x_mm)
        yield Mark(
            MarkKind.EYELET,
            centre[0] - EYELET_MARK_MM / 2,
            centre[1] - EYELET_MARK_MM / 2,
            EYELET_MARK_MM,
            EYELET_MARK_MM,
            at_mm=centre,
        )


def _eyelets_in_print(item: Item) -> Iterator[tuple[float, float]]:
    """Centres in the printed piece, from its lower left corner, as it is printed."""
    if item.finishing.eyelets is None:
        return
    left, bottom = (offset + item.bleed_mm for offset in item.content_at_mm)
    for x_mm, y_mm in eyelets_round(item.finished_width_mm, item.finished_height_mm, item.finishing.eyelets):
        seen_x = item.finished_width_mm - x_mm if item.layer_stack.mirrored else x_mm
        yield left + seen_x, bottom + y_mm


def _panel_at(layout: Layout, x_mm: float) -> int:
    return next(panel.column for panel in layout.panels if x_mm <= panel.left_mm + panel.width_mm)
