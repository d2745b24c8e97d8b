"""The order: the one model that everything downstream of the mapping speaks."""

from enum import StrEnum
from typing import Annotated

from pydantic import AwareDatetime, Field, ValidationInfo, field_validator

from ticketbridge.model.finishing import Edge, Finishing
from ticketbridge.model.pattern import Pattern
from ticketbridge.model.substrate import FromOutside, Identifier, LayerStack, NotNegative, Positive


class Panels(StrEnum):
    """Whether an item may, shall or must not be printed as panels that overlap."""

    WANTED = "wanted"
    ALLOWED = "allowed"
    FORBIDDEN = "forbidden"


class Artwork(FromOutside):
    """The file to print."""

    url: str
    """As the press shall open it: an absolute file URL inside a configured folder."""
    mime_type: str | None = None
    page: int = 0
    """Page in the file, from 0; negative counts from the end, -1 is the last (the standard's way)."""
    sha256: str | None = None
    """Hash of the file, where it could be read."""
    path: str | None = None
    """Where it lies here."""
    size_bytes: int | None = None
    modified_ns: int | None = None
    """Size and time of the file when it was accepted; where both are still the same, so is the content."""


class Item(FromOutside):
    """One thing to print, so many times."""

    job_part_id: Annotated[str, Field(min_length=1, max_length=63)]
    descriptive_name: str = ""
    finished_width_mm: Positive
    finished_height_mm: Positive
    quantity: Annotated[int, Field(ge=1, le=10_000)]
    bleed_mm: NotNegative = 0
    substrate: Identifier
    print_mode: Identifier
    layer_stack: LayerStack = LayerStack.COLOUR
    may_rotate: bool = True
    panels: Panels = Panels.ALLOWED
    panel_overlap_mm: NotNegative = 20
    keep_seams_from_mm: tuple[tuple[NotNegative, NotNegative], ...] = ()
    """Zones of the finished piece that no seam between panels runs through: from and to, from its left edge."""
    artwork: Artwork | None = None
    finishing: Finishing = Finishing()
    """What is done to it after printing; hems and pockets are printed too."""
    pattern: Pattern | None = None
    """For wallcovering: printed as drops of this pattern."""

    @field_validator("keep_seams_from_mm")
    @classmethod
    def _zones_run_from_left_to_right(
        cls, zones: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        for begin, end in zones:
            if begin >= end:
                raise ValueError(f"a zone from {begin:g} to {end:g} mm has no width")
        return zones

    @field_validator("finishing")
    @classmethod
    def _eyelets_on_the_piece(cls, finishing: Finishing, checked: ValidationInfo) -> Finishing:
        sides = checked.data.get("finished_width_mm"), checked.data.get("finished_height_mm")
        width, height = (side or 0.0 for side in sides)
        for x, y in finishing.eyelets.at_mm if finishing.eyelets else ():
            if x > width or y > height:
                raise ValueError(
                    f"an eyelet at {x:g}, {y:g} mm lies off the piece of {width:g} x {height:g} mm"
                )
        return finishing

    @property
    def printed_width_mm(self) -> float:
        """Finished width, hems and pockets at the sides, and bleed on both."""
        return self.cut_width_mm + 2 * self.bleed_mm

    @property
    def printed_height_mm(self) -> float:
        """Finished height, hems and pockets at top and bottom, and bleed on both."""
        return self.cut_height_mm + 2 * self.bleed_mm

    @property
    def content_at_mm(self) -> tuple[float, float]:
        """Where the artwork, which has the finished size and its bleed, begins in the printed piece.

        A mirrored image is seen from the other side, so its right edge is printed at the left.
        """
        left = Edge.RIGHT if self.layer_stack.mirrored else Edge.LEFT
        return self.finishing.allowance_mm(left), self.finishing.allowance_mm(Edge.BOTTOM)

    @property
    def cut_width_mm(self) -> float:
        """Width before hems and pockets are folded over."""
        allowances = self.finishing.allowance_mm(Edge.LEFT) + self.finishing.allowance_mm(Edge.RIGHT)
        return self.finished_width_mm + allowances

    @property
    def cut_height_mm(self) -> float:
        """Height before hems and pockets are folded over."""
        allowances = self.finishing.allowance_mm(Edge.TOP) + self.finishing.allowance_mm(Edge.BOTTOM)
        return self.finished_height_mm + allowances


class Order(FromOutside):
    """What a customer ordered, mapped to the shop's own words."""

    job_id: Annotated[str, Field(min_length=1, max_length=63)]
    descriptive_name: str = ""
    source: Identifier
    due: AwareDatetime | None = None
    """With its offset; compared in UTC."""
    priority: Annotated[int, Field(ge=0, le=100)] = 50
    customer_id: str | None = None
    customer_order_id: str | None = None
    customer_name: str | None = None
    items: tuple[Item, ...] = Field(min_length=1)
