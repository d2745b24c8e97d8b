"""A picture of layouts: every roll drawn to scale, one unit a millimetre, as SVG that reads in black and white.

The leading edge lies at the bottom, so pieces stand as the artwork does; print leaves the press downward.
Rolls of several items stand beside each other.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from ticketbridge.model.cut_list import Cut, Direction
from ticketbridge.model.finishing import Edge
from ticketbridge.model.layout import Layout, Placement, Run
from ticketbridge.model.marks import CUT_MARK_MM, MODULE_MM, Mark, MarkKind
from ticketbridge.model.order import Item
from ticketbridge.report.svg import Node, add, as_bytes, new_picture, number_in_svg, set_attributes

SCREEN_PX: Final = 900
"""Width of the picture on a screen, in pixels; on paper it is as wide as the page."""


@dataclass(frozen=True, slots=True)
class Roll:
    """One roll to draw.

    Attributes:
        title: Above it: what, where.
        item: What is printed.
        layout: Where the pieces lie.
        marks: What is printed beside them.
        margin_left_mm: From the roll's edge to the usable width.
        cuts: Where the pieces are cut apart.
        others: What other items have of the same run; drawn onto the same roll.
        label: Before the number of each piece, where a run has several items.
    """

    title: str
    item: Item
    layout: Layout
    marks: Sequence[Mark]
    margin_left_mm: float
    cuts: Sequence[Cut] = ()
    others: Sequence["Roll"] = ()
    label: str = ""

    @property
    def caption(self) -> tuple[str, ...]:
        """The lines above the roll."""
        layout, item = self.layout, self.item
        if self.others:
            return self._caption_of_run()
        pieces = f"{item.quantity} x {item.finished_width_mm:.0f} x {item.finished_height_mm:.0f} mm"
        rows = "1 row" if layout.rows == 1 else f"{layout.rows} rows"
        turned = f", {layout.orientation}" if layout.rotated or layout.other_rows else ""
        used = f"{layout.consumed_length_mm / 1000:.2f} m of roll {layout.roll_width_mm:.0f} mm wide"
        parts = f", {len(layout.panels)} {_word(item)}s each" if layout.panels else ""
        return (
            self.title,
            f"{pieces}, {layout.across} across in {rows}{turned}{parts}",
            f"{layout.length_mm:.0f} mm of print, {used}, waste {layout.waste_percent:.1f} %",
        )

    def _caption_of_run(self) -> tuple[str, ...]:
        run = Run((self.layout, *(other.layout for other in self.others))).whole
        pieces = sum(roll.item.quantity for roll in (self, *self.others))
        used = f"{run.consumed_length_mm / 1000:.2f} m of roll {self.layout.roll_width_mm:.0f} mm wide"
        return (
            self.title,
            f"{pieces} pieces of {1 + len(self.others)} items together",
            f"{run.length_mm:.0f} mm of print, {used}, waste {run.waste_percent:.1f} %",
        )


def roll_picture(rolls: Sequence[Roll]) -> bytes:
    """The picture of one or more rolls as an SVG document, UTF-8.

    Raises:
        ValueError: There is no roll to draw.
    """
    if not rolls:
        raise ValueError("a picture needs at least one roll")
    text = max(roll.layout.roll_width_mm for roll in rolls) / 40
    margin, head = 5 * text, 6 * text
    widths = [roll.layout.roll_width_mm + 2 * margin for roll in rolls]
    longest = max(roll.layout.consumed_length_mm for roll in rolls)
    width, height = sum(widths), head + longest + 3 * text
    picture = new_picture()
    set_attributes(
        picture, viewBox=f"0 0 {number_in_svg(width)} {number_in_svg(height)}", width=str(SCREEN_PX)
    )
    set_attributes(picture, height=number_in_svg(SCREEN_PX * height / width), font_family="sans-serif")
    _hatching(add(picture, "defs"), text)
    add(picture, "rect", width=number_in_svg(width), height=number_in_svg(height), fill="white")
    left = margin
    for roll, roll_width in zip(rolls, widths, strict=True):
        _Drawing(picture, roll, left, head, text).draw()
        left += roll_width
    return as_bytes(picture)


def _word(item: Item) -> str:
    return "panel" if item.pattern is None else "drop"


class _Drawing:
    """One roll on the picture; turns the layout's coordinates over, as SVG counts from the top."""

    def __init__(self, picture: Node, roll: Roll, left: float, top: float, text: float) -> None:
        self._group = add(picture, "g")
        self._roll = roll
        self._layout = roll.layout
        self._left = left
        self._top = top
        self._text = text
        self._thin = text / 24
        self._print_left = left + roll.margin_left_mm
        self._print_start = top + roll.layout.trailer_mm + roll.layout.length_mm

    def draw(self) -> None:
        self._ground()
        self.draw_pieces()
        for other in self._roll.others:
            _Drawing(self._group, other, self._left, self._top, self._text).draw_pieces()
        for cut in self._roll.cuts:
            self._cut(cut)
        self._dimensions()
        for row, line in enumerate(self._roll.caption):
            weight = "bold" if row == 0 else "normal"
            y = self._top - (len(self._roll.caption) - row) * 1.4 * self._text
            self._words(line, self._left, y, font_weight=weight, text_anchor="start")

    def draw_pieces(self) -> None:
        """Only the pieces of one item and their marks."""
        for placed in self._layout.placements:
            self._piece(placed)
        for mark in self._roll.marks:
            self._mark(mark)

    def _ground(self) -> None:
        """The roll: hatched where nothing may be printed, and before and after the print."""
        layout, left, top = self._layout, self._left, self._top
        length, width = layout.consumed_length_mm, layout.roll_width_mm
        outline = {"stroke": "black", "stroke_width": number_in_svg(2 * self._thin)}
        self._rect(left, top, width, length, fill="url(#blank)", **outline)
        print_top = self._print_start - layout.length_mm
        self._rect(self._print_left, print_top, layout.usable_width_mm, layout.length_mm, fill="white")
        middle = left + width / 2
        ends = (
            (f"trailer {layout.trailer_mm:.0f} mm", top, layout.trailer_mm),
            (f"leader {layout.leader_mm:.0f} mm, out first", self._print_start, layout.leader_mm),
        )
        for line, start, height in ends:
            if height >= 2 * self._text:
                self._label(line, middle, start + height / 2)

    def _piece(self, placed: Placement) -> None:
        x, y = self._at(placed.x_mm, placed.y_mm + placed.height_mm)
        outline = {"stroke": "black", "stroke_width": number_in_svg(1.5 * self._thin)}
        self._rect(x, y, placed.width_mm, placed.height_mm, fill="#e8e8e8", **outline)
        self._finished_edge(placed)
        self._overlap(placed)
        self._match_waste(placed)
        self._number(placed)

    def _finished_edge(self, placed: Placement) -> None:
        """Dashed: where bleed is cut and hems are folded. Panels show their overlap instead."""
        item = self._roll.item
        beyond = {edge: item.finishing.allowance_mm(edge) + item.bleed_mm for edge in Edge}
        if self._layout.panels or not any(beyond.values()):
            return
        left, bottom, right, top = (beyond[edge] for edge in (Edge.LEFT, Edge.BOTTOM, Edge.RIGHT, Edge.TOP))
        if item.layer_stack.mirrored:
            left, right = right, left
        if placed.rotated:
            left, bottom, right, top = top, left, bottom, right
        x, y = self._at(placed.x_mm + left, placed.y_mm + placed.height_mm - top)
        self._dashed_rect(x, y, placed.width_mm - left - right, placed.height_mm - bottom - top)

    def _overlap(self, placed: Placement) -> None:
        if not self._layout.panels or placed.panel == len(self._layout.panels) - 1:
            return
        overlap = self._roll.item.panel_overlap_mm
        x, y = self._at(placed.x_mm + placed.width_mm - overlap, placed.y_mm + placed.height_mm)
        self._rect(x, y, overlap, placed.height_mm, fill="url(#overlap)")

    def _match_waste(self, placed: Placement) -> None:
        """What a drop with a repeat is printed on beyond its height."""
        waste = placed.height_mm - self._roll.item.printed_height_mm
        if self._layout.pitch_mm is not None and waste > 0:
            x, y = self._at(placed.x_mm, placed.y_mm + placed.height_mm)
            self._rect(x, y, placed.width_mm, waste, fill="url(#blank)")

    def _number(self, placed: Placement) -> None:
        """Piece and panel, as large as the piece allows; smaller than a tenth of the text it is left out."""
        lines = [f"{self._roll.label} {placed.piece + 1}".lstrip()]
        if self._layout.panels:
            label = self._layout.panels[placed.panel].label
            lines.append(f"{_word(self._roll.item)} {label}")
        longest = max(len(line) for line in lines)
        size = min(2 * self._text, placed.height_mm / (1.5 * len(lines)), 1.5 * placed.width_mm / longest)
        if size < self._text / 10:
            return
        middle_x, middle_y = self._at(placed.x_mm + placed.width_mm / 2, placed.y_mm + placed.height_mm / 2)
        turn = f"rotate(-90 {number_in_svg(middle_x)} {number_in_svg(middle_y)})" if placed.rotated else None
        for row, line in enumerate(lines):
            y = middle_y + (row - (len(lines) - 1) / 2) * 1.3 * size + size / 3
            self._words(line, middle_x, y, size, transform=turn)

    def _mark(self, mark: Mark) -> None:
        if mark.kind is MarkKind.SLUG_LINE:
            self._slug_line(mark)
        elif mark.kind is MarkKind.CUT:
            for line in self._cut_lines(mark):
                self._line(*line)
        else:
            x, y = self._at(*mark.at_mm)
            radius = max(mark.width_mm / 2, 4 * self._thin)
            circle = add(
                self._group,
                "circle",
                cx=number_in_svg(x),
                cy=number_in_svg(y),
                r=number_in_svg(radius),
                fill="white",
            )
            set_attributes(circle, stroke="black", stroke_width=number_in_svg(self._thin))
            self._line(x - radius, y, x + radius, y)
            self._line(x, y - radius, x, y + radius)

    def _cut_lines(self, mark: Mark) -> Iterator[tuple[float, float, float, float]]:
        """A tick across at the cut's height, and one along at its side, both off the printed edge."""
        across, along = mark.outward
        x, y = self._at(*mark.at_mm)
        outer_x, _ = self._at(mark.x_mm if across < 0 else mark.x_mm + mark.width_mm, 0)
        yield outer_x, y, outer_x - across * CUT_MARK_MM, y
        if along:
            _, outer_y = self._at(0, mark.y_mm if along < 0 else mark.y_mm + mark.height_mm)
            yield x, outer_y, x, outer_y + along * CUT_MARK_MM

    def _slug_line(self, mark: Mark) -> None:
        x, y = self._at(mark.x_mm, mark.y_mm + mark.height_mm)
        room = mark.barcode_left_mm - mark.x_mm if mark.bars else mark.width_mm
        size = min(0.6 * mark.height_mm, 1.5 * room / max(1, len(mark.text)))
        self._words(mark.text, x, y + mark.height_mm / 2 + size / 3, size, text_anchor="start", halo=False)
        bar_x, _ = self._at(mark.barcode_left_mm, 0)
        for place, width in enumerate(mark.bars):
            if place % 2 == 0:
                self._rect(bar_x, y, width * MODULE_MM, mark.height_mm, fill="black")
            bar_x += width * MODULE_MM

    def _cut(self, cut: Cut) -> None:
        """A dotted line along the cut."""
        ends = ((cut.begin_mm, cut.at_mm), (cut.end_mm, cut.at_mm))
        if cut.direction is Direction.ALONG:
            ends = ((cut.at_mm, cut.begin_mm), (cut.at_mm, cut.end_mm))
        (x1, y1), (x2, y2) = (self._at(*end) for end in ends)
        line = self._line(x1, y1, x2, y2)
        set_attributes(
            line, stroke_dasharray=f"{number_in_svg(2 * self._thin)} {number_in_svg(6 * self._thin)}"
        )

    def _dimensions(self) -> None:
        """Length of the print at the left, width of the roll below."""
        x = self._left - 1.5 * self._text
        top = self._print_start - self._layout.length_mm
        self._line(x, top, x, self._print_start)
        for y in (top, self._print_start):
            self._line(x - self._text / 2, y, x + self._text / 2, y)
        middle, at = (top + self._print_start) / 2, x - self._text
        turn = f"rotate(-90 {number_in_svg(at)} {number_in_svg(middle)})"
        self._words(f"{self._layout.length_mm:.0f} mm", at, middle, transform=turn)
        bottom = self._top + self._layout.consumed_length_mm + 1.8 * self._text
        width = self._layout.roll_width_mm
        line = f"roll {width:.0f} mm, usable {self._layout.usable_width_mm:.0f} mm"
        self._words(line, self._left + width / 2, bottom)

    def _label(self, line: str, x: float, y: float) -> None:
        """Words on a hatched ground, with a white box under them."""
        width = 0.55 * self._text * len(line)
        self._rect(x - width / 2, y - 0.8 * self._text, width, 1.6 * self._text, fill="white")
        self._words(line, x, y + self._text / 3)

    def _at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        return self._print_left + x_mm, self._print_start - y_mm

    def _rect(self, x: float, y: float, width: float, height: float, **style: str) -> None:
        add(
            self._group,
            "rect",
            x=number_in_svg(x),
            y=number_in_svg(y),
            width=number_in_svg(width),
            height=number_in_svg(height),
            **style,
        )

    def _dashed_rect(self, x: float, y: float, width: float, height: float) -> None:
        dashes = f"{number_in_svg(6 * self._thin)} {number_in_svg(4 * self._thin)}"
        self._rect(
            x,
            y,
            width,
            height,
            fill="none",
            stroke="black",
            stroke_width=number_in_svg(self._thin),
            stroke_dasharray=dashes,
        )

    def _line(self, x1: float, y1: float, x2: float, y2: float) -> Node:
        line = add(
            self._group,
            "line",
            x1=number_in_svg(x1),
            y1=number_in_svg(y1),
            x2=number_in_svg(x2),
            y2=number_in_svg(y2),
        )
        set_attributes(line, stroke="black", stroke_width=number_in_svg(self._thin))
        return line

    def _words(
        self,
        line: str,
        x: float,
        y: float,
        size: float | None = None,
        *,
        text_anchor: str = "middle",
        font_weight: str = "normal",
        transform: str | None = None,
        halo: bool = True,
    ) -> None:
        words = add(
            self._group,
            "text",
            x=number_in_svg(x),
            y=number_in_svg(y),
            font_size=number_in_svg(size or self._text),
        )
        set_attributes(words, text_anchor=text_anchor, font_weight=font_weight)
        if transform:
            set_attributes(words, transform=transform)
        if halo:
            halo_width = number_in_svg((size or self._text) / 6)
            set_attributes(
                words, stroke="white", stroke_width=halo_width, paint_order="stroke", stroke_linejoin="round"
            )
        words.text = "".join(letter for letter in line if letter.isprintable())


def _hatching(defs: Node, text: float) -> None:
    """Wide for what stays blank, narrow and the other way for what overlaps."""
    for name, distance, turn in (("blank", text, 45), ("overlap", text / 3, -45)):
        pattern = add(defs, "pattern", id=name, width=number_in_svg(distance), height=number_in_svg(distance))
        set_attributes(pattern, patternUnits="userSpaceOnUse", patternTransform=f"rotate({turn})")
        line = add(pattern, "line", x1="0", y1="0", x2="0", y2=number_in_svg(distance))
        set_attributes(line, stroke="black", stroke_width=number_in_svg(text / 16))
