"""Splices and flaws of a roll: rows that would touch one are moved behind it.

What is skipped is roll that is used and not sold, so it counts as waste by itself: the layout gets longer and
its pieces stay the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.model.layout import Layout, Placement, Run
from ticketbridge.model.substrate import Flaw

Band = tuple[float, float]
"""From the leading to the trailing edge of a row, in mm from the start of the print."""


def behind_flaws(layout: Layout, flaws: Sequence[Flaw], clearance_mm: float) -> Layout:
    """The layout with every row moved behind the flaws that it would touch.

    The rows keep their order and never come nearer to each other. Rows are what the layout's placements make
    of the roll's length: placements whose lengths overlap are one row and move together.

    Args:
        layout: As laid out for a faultless roll; its print begins one leader behind the outer end.
        flaws: Counted from the outer end of the roll as it is when the job begins.
        clearance_mm: Free distance from a flaw to a row before or behind it.
    """
    if not flaws:
        return layout
    rows = list(_rows(layout.placements))
    return _moved(layout, rows, _shifts_of(rows, layout, flaws, clearance_mm))


def run_behind_flaws(run: Run, flaws: Sequence[Flaw], clearance_mm: float) -> Run:
    """A run of several items likewise: what lies beside each other moves together, whichever item it is of.

    Args:
        run: As laid out for a faultless roll.
        flaws: Counted from the outer end of the roll as it is when the run begins.
        clearance_mm: Free distance from a flaw to a row.
    """
    if not flaws:
        return run
    rows = list(_rows([placed for part in run.parts for placed in part.placements]))
    moved_by = _shifts_of(rows, run.parts[0], flaws, clearance_mm)
    return Run(tuple(_moved(part, rows, moved_by) for part in run.parts))


def _shifts_of(
    rows: Sequence[Sequence[Placement]], layout: Layout, flaws: Sequence[Flaw], clearance_mm: float
) -> list[float]:
    before_mm, behind_mm = _room(layout)
    bands = [(_begin(row) - before_mm, _end(row) + behind_mm) for row in rows]
    return shifts(bands, flaws, layout.leader_mm, clearance_mm)


def closed_up(layout: Layout, gap_mm: float) -> Layout:
    """The layout as it would be on a faultless roll: what was skipped between its rows is taken out again.

    Args:
        layout: As moved behind flaws.
        gap_mm: Distance of neighbouring rows, room for their marks aside, where nothing was skipped.
    """
    rows = list(_rows(layout.placements))
    before_mm, behind_mm = _room(layout)
    moved_by = [before_mm - _begin(rows[0])]
    for before, row in pairwise(rows):
        apart_mm = before_mm + behind_mm + gap_mm
        if layout.pitch_mm is not None and before[0].piece == row[0].piece:
            # the drops of a pattern are printed in one go
            apart_mm = layout.pitch_mm - (_end(before) - _begin(before))
        skipped = _begin(row) - _end(before) - apart_mm
        moved_by.append(moved_by[-1] - (skipped if skipped > TOLERANCE_MM else 0.0))
    return _moved(layout, rows, moved_by)


def _room(layout: Layout) -> tuple[float, float]:
    """What a row takes before and behind its pieces for marks."""
    return layout.marks.margin_mm, layout.marks.margin_mm + layout.marks.slug_mm


def _moved(layout: Layout, rows: Sequence[Sequence[Placement]], moved_by: Sequence[float]) -> Layout:
    by_place = {id(placement): shift for row, shift in zip(rows, moved_by, strict=True) for placement in row}
    placements = tuple(
        replace(placement, y_mm=placement.y_mm + by_place[id(placement)]) for placement in layout.placements
    )
    return replace(layout, placements=placements, length_mm=layout.length_mm + moved_by[-1])


def shifts(
    bands: Sequence[Band], flaws: Sequence[Flaw], leader_mm: float, clearance_mm: float
) -> list[float]:
    """How far each row is moved on: never less than the row before it.

    Args:
        bands: The rows, in the order of their leading edges, none overlapping another.
        flaws: Counted from the outer end.
        leader_mm: From the outer end to the start of the print.
        clearance_mm: Free distance from a flaw to a row.
    """
    moved_by: list[float] = []
    shift = 0.0
    in_order = sorted(flaws, key=lambda flaw: flaw.at_mm)
    for begin, end in bands:
        for flaw in in_order:
            first = flaw.at_mm - leader_mm - clearance_mm
            last = flaw.at_mm + flaw.length_mm - leader_mm + clearance_mm
            if begin + shift < last - TOLERANCE_MM and end + shift > first + TOLERANCE_MM:
                shift = last - begin
        moved_by.append(shift)
    return moved_by


def _rows(placements: Sequence[Placement]) -> Iterator[list[Placement]]:
    row: list[Placement] = []
    for placement in sorted(placements, key=lambda one: one.y_mm):
        if row and placement.y_mm >= _end(row) - TOLERANCE_MM:
            yield row
            row = []
        row.append(placement)
    yield row


def _begin(row: Sequence[Placement]) -> float:
    return row[0].y_mm


def _end(row: Sequence[Placement]) -> float:
    return max(placement.y_mm + placement.height_mm for placement in row)
