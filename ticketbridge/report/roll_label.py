"""The label of a roll, as a drawing to print: A6, upright, in black."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from lxml import etree

from ticketbridge.jdf.writing import Element, clean
from ticketbridge.vocabulary.units import number

WIDTH_MM: Final = 105
HEIGHT_MM: Final = 148
_MARGIN_MM: Final = 7
_LEAST_MODULE_MM: Final = 0.25
"""Narrower bars are hard to read for plain scanners and plain printers (common practice)."""
_WIDEST_MODULE_MM: Final = 0.5
_SVG: Final = "http://www.w3.org/2000/svg"


class BarcodeTooWide(ValueError):
    """The lot has too many characters for a barcode that can be read on this label."""


@dataclass(frozen=True, slots=True)
class RollLabel:
    """What stands on a label.

    Attributes:
        substrate_id: Of the catalogue.
        substrate_name: For people.
        lot: The lot, in letters and in bars.
        roll_number: Which roll of the lot.
        width_mm: Of the roll.
        length_m: On it by account.
        weight_kg: With its core.
        caution: A sentence where it is heavy, else None.
        on: The day of the label.
    """

    substrate_id: str
    substrate_name: str
    lot: str
    roll_number: int
    width_mm: float
    length_m: float
    weight_kg: float
    caution: str | None
    on: date


def roll_label(label: RollLabel, bars: Sequence[int], quiet_modules: int) -> str:
    """The label as SVG.

    Args:
        label: What stands on it.
        bars: Widths in modules of bars and spaces by turns, a bar first: the lot.
        quiet_modules: Blank modules on either side of the bars.

    Raises:
        BarcodeTooWide: The bars do not fit.
    """
    root: Element = etree.Element(
        f"{{{_SVG}}}svg",
        {
            "width": f"{WIDTH_MM}mm",
            "height": f"{HEIGHT_MM}mm",
            "viewBox": f"0 0 {WIDTH_MM} {HEIGHT_MM}",
            "font-family": "sans-serif",
        },
        nsmap={None: _SVG},
    )
    _rectangle(root, 0, 0, WIDTH_MM, HEIGHT_MM, "white")
    _text(root, 16, 9, label.substrate_id)
    _text(root, 24, 4.5, label.substrate_name)
    _text(root, 40, 7, f"Lot {label.lot}")
    _text(root, 49, 5, f"Roll {label.roll_number} of this lot")
    _text(root, 62, 6, f"{number(round(label.width_mm, 1))} mm wide")
    _text(root, 71, 6, f"{number(round(label.length_m, 1))} m on {label.on.isoformat()}")
    _text(root, 80, 6, f"{number(round(label.weight_kg, 1))} kg with core")
    for place, line in enumerate(_lines(label.caution or "", 58)):
        _text(root, 88 + 4.2 * place, 3.4, line)
    _barcode(root, bars, quiet_modules)
    _text(root, 141, 5, label.lot, middle=True)
    return str(etree.tostring(root, encoding="unicode", pretty_print=True))


def _barcode(root: Element, bars: Sequence[int], quiet_modules: int) -> None:
    modules = sum(bars) + 2 * quiet_modules
    module_mm = min(_WIDEST_MODULE_MM, WIDTH_MM / modules)
    if module_mm < _LEAST_MODULE_MM:
        raise BarcodeTooWide(
            f"{modules} modules need {modules * _LEAST_MODULE_MM:.0f} mm, the label has {WIDTH_MM} mm"
        )
    x_mm = (WIDTH_MM - sum(bars) * module_mm) / 2
    for place, width in enumerate(bars):
        if place % 2 == 0:
            _rectangle(root, x_mm, 112, width * module_mm, 22, "black")
        x_mm += width * module_mm


def _rectangle(root: Element, x_mm: float, y_mm: float, width_mm: float, height_mm: float, fill: str) -> None:
    places = {"x": x_mm, "y": y_mm, "width": width_mm, "height": height_mm}
    attributes = {name: number(value) for name, value in places.items()} | {"fill": fill}
    etree.SubElement(root, f"{{{_SVG}}}rect", attributes)


def _text(root: Element, y_mm: float, size_mm: float, text: str, *, middle: bool = False) -> None:
    """A line of text; one that would run over the edge is squeezed into the width."""
    room_mm = WIDTH_MM - 2 * _MARGIN_MM
    attributes = {
        "x": number(WIDTH_MM / 2 if middle else _MARGIN_MM),
        "y": number(y_mm),
        "font-size": number(size_mm),
    }
    if middle:
        attributes["text-anchor"] = "middle"
    if len(text) * size_mm * 0.6 > room_mm:
        attributes |= {"textLength": number(room_mm), "lengthAdjust": "spacingAndGlyphs"}
    etree.SubElement(root, f"{{{_SVG}}}text", attributes).text = clean(text)


def _lines(text: str, most: int) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        if lines and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines[:5]
