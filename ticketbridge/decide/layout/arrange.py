"""Which way the pieces stand, how many stand beside each other, and in how many panels: no placements yet.

An arrangement costs a few multiplications, however many pieces there are. So rolls and lanes are compared
by arrangements, and placements are made once, for the width that was chosen.
"""

from typing import Final

from ticketbridge.decide.layout.arrangement import Arrangement, slot_height_mm
from ticketbridge.decide.layout.formulas import (
    TOLERANCE_MM,
    copies_across,
    length_for_rows,
)
from ticketbridge.decide.layout.mixed_rows import mixed_rows
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.decide.layout.seams import spans_between_zones, zones_in_print
from ticketbridge.decide.layout.wall import drops_across, own_phase_mm, phase_mm, pitch_mm
from ticketbridge.model.layout import Panel
from ticketbridge.model.marks import NO_MARKS, Marks
from ticketbridge.model.order import Item, Panels
from ticketbridge.model.pattern import Drops, Match, Pattern

MOST_PLACEMENTS: Final = 20_000
"""More pieces and panels than this in one job are refused: it is a slip of the pen, or an attack."""

LARGEST_SIDE_MM: Final = 1_000_000.0
"""A kilometre, longer than any roll: a size beyond it is a slip of the decimal point."""


def arrange(
    item: Item, usable_width_mm: float, gap_mm: float, marks: Marks = NO_MARKS
) -> Arrangement | LayoutProblem:
    """The best grid for an item on a usable width.

    A piece that fits whole is laid both ways, unless it may not be turned, and what takes least length wins:
    rows of the one way, of the other, or some of both. On one roll that is also what wastes least. Equal lengths
    leave pieces unturned and rows unmixed. A piece that fits neither way is printed in panels where they are allowed. Where panels are wanted, a
    piece too wide as it stands is not turned to avoid them. A wallcovering is hung as it is printed: it is
    never turned, and in drops where it is wider than one.
    """
    width, height = item.printed_width_mm, item.printed_height_mm
    if max(width, height) > LARGEST_SIDE_MM:
        return LayoutProblem(
            "lanes.too-large", {"width_mm": width, "height_mm": height, "most_mm": LARGEST_SIDE_MM}
        )
    return _Sheet(item, usable_width_mm, gap_mm, marks).best()


class _Sheet:
    """One item on one usable width."""

    def __init__(self, item: Item, usable_width_mm: float, gap_mm: float, marks: Marks) -> None:
        self._item = item
        self._width, self._height = item.printed_width_mm, item.printed_height_mm
        self._gap = gap_mm
        self._marks = marks
        # What is left for a single piece or panel beside the room of its own marks.
        self._usable = usable_width_mm - 2 * marks.margin_mm

    def best(self) -> Arrangement | LayoutProblem:
        if self._item.pattern is not None:
            return self._hung(self._item.pattern)
        upright = self._grid(self._width, self._height, rotated=False)
        turned = None
        if self._item.may_rotate and (upright or self._item.panels is not Panels.WANTED):
            turned = self._grid(self._height, self._width, rotated=True)
        if upright and turned:
            return mixed_rows(upright, turned, self._gap)
        return upright or turned or self._in_panels()

    def _grid(self, width_mm: float, height_mm: float, *, rotated: bool) -> Arrangement | None:
        if not self._fitting(width_mm):
            return None
        return self._rows(width_mm, height_mm, self._item.quantity, rotated=rotated, panels=())

    def _in_panels(self) -> Arrangement | LayoutProblem:
        overlap = self._item.panel_overlap_mm
        if problem := self._no_panels():
            return problem
        spans = spans_between_zones(self._width, self._usable, overlap, zones_in_print(self._item))
        if spans is None:
            facts = {"overlap_mm": overlap, "usable_mm": self._usable}
            return LayoutProblem("lanes.no-place-for-seams", facts)
        return self._panelled(spans)

    def _hung(self, pattern: Pattern) -> Arrangement | LayoutProblem:
        """Drops of the strip's full width, as paperhangers plumb them; the last takes what is left."""
        strip, overlap = min(pattern.strip_mm or self._usable, self._usable), self._item.panel_overlap_mm
        if self._width <= strip + TOLERANCE_MM:
            strip = self._width
        elif problem := self._no_panels():
            return problem
        number = drops_across(self._width, strip, overlap) if overlap < strip else 1
        lefts = [n * (strip - overlap) for n in range(number)]
        spans = [(left, min(strip, self._width - left)) for left in lefts]
        if pattern.match is not Match.NONE and pattern.drops is Drops.CONTINUOUS:
            return self._repeated(spans, pattern)
        phases = [own_phase_mm(n, pattern.match, pattern.repeat_mm) for n in range(number)]
        return (
            self._panelled(spans, phases)
            if number > 1 or pattern.match is not Match.NONE
            else self._rows(strip, self._height, self._item.quantity, rotated=False, panels=())
        )

    def _repeated(self, spans: list[tuple[float, float]], pattern: Pattern) -> Arrangement | LayoutProblem:
        """The drops of a wall in one go, printed on between them; then the next wall after a gap."""
        pitch = pitch_mm(self._height, pattern.match, pattern.repeat_mm)
        phases = [phase_mm(n, pitch, pattern.repeat_mm) for n in range(len(spans))]
        count = len(spans) * self._item.quantity
        if problem := _too_many(count):
            return problem
        run = (len(spans) - 1) * pitch + self._height
        length = length_for_rows(self._item.quantity, slot_height_mm(run, self._marks), self._gap)
        return Arrangement(
            width_mm=spans[0][1],
            height_mm=self._height,
            across=1,
            rows=count,
            rotated=False,
            panels=_panels(spans, phases),
            count=count,
            length_mm=length,
            marks=self._marks,
            pitch_mm=pitch,
        )

    def _panelled(
        self, spans: list[tuple[float, float]], phases: list[float] | None = None
    ) -> Arrangement | LayoutProblem:
        count = len(spans) * self._item.quantity
        if problem := _too_many(count):
            return problem
        widest = max(width for _, width in spans)
        return self._rows(widest, self._height, count, rotated=False, panels=_panels(spans, phases))

    def _no_panels(self) -> LayoutProblem | None:
        overlap = self._item.panel_overlap_mm
        if self._item.panels is Panels.FORBIDDEN:
            sizes = {"width_mm": self._width, "height_mm": self._height, "usable_mm": self._usable}
            would_fit_turned = self._item.pattern is None and self._fitting(self._height) > 0
            return LayoutProblem("lanes.too-wide-upright" if would_fit_turned else "lanes.too-wide", sizes)
        strip = self._item.pattern.strip_mm if self._item.pattern else None
        widest = min(self._usable, strip or self._usable)
        if overlap >= widest - TOLERANCE_MM:
            return LayoutProblem("lanes.overlap-too-wide", {"overlap_mm": overlap, "usable_mm": widest})
        return None

    def _fitting(self, width_mm: float) -> int:
        margins = 2 * self._marks.margin_mm
        return copies_across(self._usable + margins, width_mm + margins, self._gap)

    def _rows(
        self, width_mm: float, height_mm: float, count: int, *, rotated: bool, panels: tuple[Panel, ...]
    ) -> Arrangement:
        across = min(self._fitting(width_mm), count)
        rows = -(-count // across)
        length = length_for_rows(rows, slot_height_mm(height_mm, self._marks), self._gap)
        return Arrangement(width_mm, height_mm, across, rows, rotated, panels, count, length, self._marks)


def _panels(spans: list[tuple[float, float]], phases: list[float] | None = None) -> tuple[Panel, ...]:
    """Panels with their labels."""
    return tuple(
        Panel(n, left, width, f"{n + 1} of {len(spans)}", phases[n] if phases else 0.0)
        for n, (left, width) in enumerate(spans)
    )


def _too_many(count: int) -> LayoutProblem | None:
    if count <= MOST_PLACEMENTS:
        return None
    return LayoutProblem("lanes.too-many-placements", {"count": count, "most": MOST_PLACEMENTS})
