"""A plot of what prints took beside what the model said, as SVG that reads in black and white.

Both axes are logarithmic and alike, so a print as estimated lies on the full line, and a press that is slower by
a share lies on a line beside it, at whatever length. Dashed is what was learned.
"""

from collections.abc import Sequence
from math import floor, log10
from typing import Final

from ticketbridge.report.svg import Node, add, as_bytes, new_picture, number_in_svg, set_attributes

SIDE: Final = 520.0
MARGIN: Final = 70.0
MARKS: Final = ("circle", "square", "cross", "triangle", "diamond")


def estimates_picture(
    groups: Sequence[tuple[str, Sequence[tuple[float, float]], float]], title: str, unit: str
) -> bytes:
    """The plot as an SVG document, UTF-8.

    Args:
        groups: For each kind of print its name, its prints as (estimated, actual), and the factor learned.
        title: What stands above.
        unit: Of both axes, such as min or ml.
    """
    values = [value for _, prints, _ in groups for pair in prints for value in pair if value > 0] or [
        1.0,
        10.0,
    ]
    low, high = floor(log10(min(values))), floor(log10(max(values))) + 1
    picture = new_picture()
    width, height = SIDE + 2 * MARGIN + 260, SIDE + 2 * MARGIN
    set_attributes(picture, viewBox=f"0 0 {number_in_svg(width)} {number_in_svg(height)}")
    set_attributes(picture, width=number_in_svg(width), height=number_in_svg(height))
    set_attributes(picture, font_family="sans-serif", font_size="12")
    add(picture, "rect", width=number_in_svg(width), height=number_in_svg(height), fill="white")
    plot = _Plot(picture, low, high)
    plot.words(title, MARGIN, 30, font_size="16", font_weight="bold")
    plot.axes(unit)
    for number, (name, prints, factor) in enumerate(groups):
        plot.group(number, name, prints, factor)
    return as_bytes(picture)


class _Plot:
    def __init__(self, picture: Node, low: int, high: int) -> None:
        self._picture = picture
        self._low, self._high = low, high

    def axes(self, unit: str) -> None:
        left, top, right, bottom = MARGIN, MARGIN, MARGIN + SIDE, MARGIN + SIDE
        for power in range(self._low, self._high + 1):
            x, y = self._at(10.0**power, 10.0**power)
            self._line(x, top, x, bottom, stroke="#cccccc")
            self._line(left, y, right, y, stroke="#cccccc")
            self.words(f"{10.0**power:g}", x, bottom + 18, text_anchor="middle")
            self.words(f"{10.0**power:g}", left - 8, y + 4, text_anchor="end")
        self._line(left, bottom, right, bottom)
        self._line(left, top, left, bottom)
        self._line(left, bottom, right, top)
        self.words(f"estimated by the model, {unit}", (left + right) / 2, bottom + 42, text_anchor="middle")
        middle = number_in_svg((top + bottom) / 2)
        turned = f"rotate(-90 22 {middle})"
        self.words(f"taken, {unit}", 22, (top + bottom) / 2, text_anchor="middle", transform=turned)

    def group(self, number: int, name: str, prints: Sequence[tuple[float, float]], factor: float) -> None:
        """Its prints, the line that was learned, and its row in the legend."""
        kind = MARKS[number % len(MARKS)]
        for estimated, actual in prints:
            if estimated > 0 and actual > 0:
                self._mark(kind, *self._at(estimated, actual))
        low, high = 10.0**self._low, 10.0**self._high
        first, last = max(low, low / factor), min(high, high / factor)
        if first < last:
            line = self._line(*self._at(first, first * factor), *self._at(last, last * factor))
            set_attributes(line, stroke_dasharray="6 4")
        y = MARGIN + 20 + 22 * number
        self._mark(kind, MARGIN + SIDE + 20, y - 4)
        self.words(f"{name}: x {factor:.2f}, {len(prints)}", MARGIN + SIDE + 34, y)

    def words(self, text: str, x: float, y: float, **style: str) -> None:
        words = add(self._picture, "text", x=number_in_svg(x), y=number_in_svg(y), **style)
        words.text = "".join(letter for letter in text if letter.isprintable())

    def _at(self, estimated: float, actual: float) -> tuple[float, float]:
        scale = SIDE / (self._high - self._low)
        x = MARGIN + scale * (log10(estimated) - self._low)
        return x, MARGIN + SIDE - scale * (log10(actual) - self._low)

    def _line(self, x1: float, y1: float, x2: float, y2: float, stroke: str = "black") -> Node:
        line = add(self._picture, "line", x1=number_in_svg(x1), y1=number_in_svg(y1), stroke=stroke)
        set_attributes(line, x2=number_in_svg(x2), y2=number_in_svg(y2))
        return line

    def _mark(self, kind: str, x: float, y: float) -> None:
        shapes = {
            "square": "M-4,-4h8v8h-8z",
            "cross": "M-4,-4l8,8m0,-8l-8,8",
            "triangle": "M0,-5l5,9h-10z",
            "diamond": "M0,-6l5,6l-5,6l-5,-6z",
            "circle": "M-4,0a4,4 0 1,0 8,0a4,4 0 1,0 -8,0",
        }
        place = f"translate({number_in_svg(x)} {number_in_svg(y)})"
        add(self._picture, "path", d=shapes[kind], transform=place, fill="none", stroke="black")
