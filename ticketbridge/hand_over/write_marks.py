"""Marks in the ticket: MarkObjects of the Layout, in the standard's own elements.

A slug line is a JobField with an IdentificationField for its barcode, a cut mark a CutMark. The standard has
no mark for an eyelet; a RegisterMark of the form that is wanted, a circle with a cross, comes nearest.
"""

from collections.abc import Iterable
from itertools import groupby
from typing import Final

from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.marks import Mark, MarkKind
from ticketbridge.vocabulary.units import number, points_from_mm

CUT_MARK_TYPES: Final = {
    (-1, -1): "LowerLeftCutMark",
    (1, -1): "LowerRightCutMark",
    (-1, 1): "UpperLeftCutMark",
    (1, 1): "UpperRightCutMark",
    (-1, 0): "LeftHorizontalCutMark",
    (1, 0): "RightHorizontalCutMark",
}
"""``CutMark@MarkType`` by where the waste lies."""


def add_marks(layout: Element, marks: Iterable[Mark]) -> None:
    """The marks in order: neighbours of one kind share a MarkObject, each slug line has its own.

    Positions in a MarkObject are those of the Layout.
    """
    for kind, group in groupby(marks, key=lambda mark: mark.kind):
        if kind is MarkKind.SLUG_LINE:
            for mark in group:
                _add_slug_line(layout, mark)
            continue
        placed = child(layout, "MarkObject", CTM="1 0 0 1 0 0")
        if kind is MarkKind.EYELET:
            placed.set("DescriptiveName", "Eyelets")
        for mark in group:
            _add_point(placed, mark)


def _add_point(placed: Element, mark: Mark) -> None:
    if mark.kind is MarkKind.CUT:
        child(placed, "CutMark", MarkType=CUT_MARK_TYPES[mark.outward], Position=_points(*mark.at_mm))
    else:
        child(placed, "RegisterMark", MarkType="Circle Cross", Center=_points(*mark.at_mm))


def _add_slug_line(layout: Element, mark: Mark) -> None:
    box = _points(mark.x_mm, mark.y_mm, mark.x_mm + mark.width_mm, mark.y_mm + mark.height_mm)
    placed = child(layout, "MarkObject", CTM="1 0 0 1 0 0", ClipBox=box)
    child(placed, "JobField", ShowList="UserText", UserText=mark.text)
    if mark.barcode:
        _add_barcode(placed, mark)


def _add_barcode(placed: Element, mark: Mark) -> None:
    left_mm = mark.barcode_left_mm
    box = _points(left_mm, mark.y_mm, left_mm + mark.barcode_mm, mark.y_mm + mark.height_mm)
    child(
        placed,
        "IdentificationField",
        Encoding="BarCode1D",
        EncodingDetails="CODE128",
        Purpose="Label",
        Value=mark.barcode,
        BoundingBox=box,
    )


def _points(*lengths_mm: float) -> str:
    return " ".join(number(points_from_mm(length_mm)) for length_mm in lengths_mm)
