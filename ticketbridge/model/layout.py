"""A layout: where every piece of a job lies on the roll.

Coordinates in mm from the left end of the usable width (x, across the roll) and from the start of the
job's print (y, along the feed). A piece is placed with its bleed.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from ticketbridge.model.marks import NO_MARKS, Marks


class WasteCause(StrEnum):
    """Why a part of the used roll is not sold."""

    ENDS = "leader and trailer"
    EDGES = "edges of the roll"
    BETWEEN = "between the pieces"
    """Gaps, marks, rows that are not full, and what was skipped for flaws."""
    MATCH = "match of the pattern"
    OVERLAP = "overlap of panels"
    ALLOWANCES = "bleed, hems and pockets"


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel of a piece too wide for the roll, or one drop of a wall: a strip of the artwork, full height.

    Attributes:
        column: From 0, left to right as seen on the finished piece.
        left_mm: Where the strip begins in the printed piece, bleed included.
        width_mm: Its width, overlap included.
        label: For people: ``1 of 4``.
        phase_mm: Where in the repeat of a pattern it begins; 0 where nothing repeats.
    """

    column: int
    left_mm: float
    width_mm: float
    label: str = ""
    phase_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Placement:
    """One piece, or one panel of a piece, on the roll.

    Attributes:
        piece: Which copy, from 0.
        panel: Column of the panel; 0 where there are none.
        x_mm: Left edge on the roll.
        y_mm: Leading edge on the roll.
        width_mm: Size across the roll, as placed.
        height_mm: Size along the roll, as placed.
        rotated: Turned by 90 degrees counter-clockwise.
    """

    piece: int
    panel: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    rotated: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """All placements of one job on one roll width.

    Attributes:
        usable_width_mm: Width that may be printed, between the margins.
        roll_width_mm: Width of the roll it was made for.
        across: Placements beside each other.
        rows: Rows along the roll.
        rotated: Whether pieces are turned.
        panels: The panels of one piece; empty where a piece is whole.
        placements: In the order they come out, row by row.
        length_mm: Printed length, from the first leading edge to the last trailing edge, marks included.
        leader_mm: Unprinted before it.
        trailer_mm: Unprinted after it.
        image_left_mm: Leftmost printed edge, from the left end of the usable width.
        image_width_mm: From the leftmost to the rightmost printed edge.
        piece_area_mm2: Area of all finished pieces together: what is sold.
        marks: The marks that room was left for.
        pitch_mm: Where the drops of a pattern are printed in one go: from one to the next; otherwise None.
        other_rows: How many of the rows, the last ones, have their pieces the other way round.
    """

    usable_width_mm: float
    roll_width_mm: float
    across: int
    rows: int
    rotated: bool
    panels: tuple[Panel, ...]
    placements: tuple[Placement, ...]
    length_mm: float
    leader_mm: float
    trailer_mm: float
    image_left_mm: float
    image_width_mm: float
    piece_area_mm2: float
    marks: Marks = NO_MARKS
    pitch_mm: float | None = None
    other_rows: int = 0

    @property
    def orientation(self) -> str:
        """Which way round the pieces lie, for people."""
        ways = ("as they stand", "turned by 90 degrees")
        usual, other = ways[self.rotated], ways[not self.rotated]
        if not self.other_rows:
            return usual
        rows = "row" if self.other_rows == 1 else f"{self.other_rows} rows"
        return f"{usual}, in the last {rows} {other}"

    @property
    def consumed_length_mm(self) -> float:
        """Length of roll used, leader and trailer included."""
        return self.leader_mm + self.length_mm + self.trailer_mm

    @property
    def consumed_area_mm2(self) -> float:
        """Area of roll used, at its full width."""
        return self.consumed_length_mm * self.roll_width_mm

    @property
    def waste_percent(self) -> float:
        """Share of the used roll that is not a finished piece."""
        return 100 * (1 - self.piece_area_mm2 / self.consumed_area_mm2)

    def as_json(self) -> dict[str, Any]:
        """Plain values for the store."""
        plain = {name: getattr(self, name) for name in self.__slots__ if name not in ("panels", "placements")}
        plain["marks"] = self.marks.model_dump(exclude_defaults=True)
        plain["panels"] = [[p.column, p.left_mm, p.width_mm, p.label, p.phase_mm] for p in self.panels]
        plain["placements"] = [
            [p.piece, p.panel, p.x_mm, p.y_mm, p.width_mm, p.height_mm, p.rotated] for p in self.placements
        ]
        return plain

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> "Layout":
        """The reverse of ``as_json``."""
        plain = dict(data)
        plain["marks"] = Marks(**data.get("marks", {}))
        plain["panels"] = tuple(Panel(*row) for row in data["panels"])
        plain["placements"] = tuple(Placement(*row) for row in data["placements"])
        return cls(**plain)


@dataclass(frozen=True, slots=True)
class Run:
    """Several items on one stretch of a roll.

    Attributes:
        parts: For each item what it has of the run, in the coordinates of the run. Length, leader and trailer of
            each are those of the whole; pieces and their area are its own.
    """

    parts: tuple[Layout, ...]

    @property
    def whole(self) -> Layout:
        """The run as one layout, for time, ink and roll: pieces numbered through, panels of none."""
        first, pieces, placements = self.parts[0], 0, list[Placement]()
        for part in self.parts:
            placements += [replace(placed, piece=pieces + placed.piece) for placed in part.placements]
            pieces += 1 + max(placed.piece for placed in part.placements)
        left_mm = min(part.image_left_mm for part in self.parts)
        right_mm = max(part.image_left_mm + part.image_width_mm for part in self.parts)
        return replace(
            first,
            across=max(part.across for part in self.parts),
            rows=sum(part.rows for part in self.parts),
            rotated=all(placed.rotated for placed in placements),
            other_rows=0,
            panels=(),
            pitch_mm=None,
            placements=tuple(placements),
            image_left_mm=left_mm,
            image_width_mm=right_mm - left_mm,
            piece_area_mm2=sum(part.piece_area_mm2 for part in self.parts),
        )

    @property
    def length_mm(self) -> float:
        """Printed length of the whole."""
        return self.parts[0].length_mm

    @property
    def consumed_length_mm(self) -> float:
        """Length of roll used by the whole, leader and trailer included."""
        return self.parts[0].consumed_length_mm

    def charged_mm(self) -> tuple[float, ...]:
        """The used length of roll, shared out among the items by the area that each prints."""
        areas = [sum(placed.width_mm * placed.height_mm for placed in part.placements) for part in self.parts]
        return tuple(self.consumed_length_mm * area / sum(areas) for area in areas)
