"""Substrates and print modes: what the shop prints on, and how."""

from enum import StrEnum
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, model_validator

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Identifier = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,62}$")]
"""A name of the shop's own that is also safe as a file name and as an NMTOKEN."""


class FromOutside(BaseModel):
    """Base of everything that a person writes: frozen, unknown keys refused, no guessing of types."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, use_attribute_docstrings=True)


class Family(StrEnum):
    """Kinds of substrate, in the trade's words."""

    BANNER = "banner"
    MESH = "mesh"
    BACKLIT_FILM = "backlit film"
    WALLCOVERING = "wallcovering"
    CANVAS = "canvas"
    TEXTILE = "textile"
    WINDOW_FILM = "window film"
    SELF_ADHESIVE_FILM = "self-adhesive film"
    METALLISED_FILM = "metallised film"
    PAPER = "paper"
    RIGID_BOARD = "rigid board"


class LayerStack(StrEnum):
    """What is laid down in which order, first printed first."""

    COLOUR = "colour"
    WHITE_COLOUR = "white, colour"
    """White underprint: white first, colour on it."""
    COLOUR_WHITE = "colour, white"
    """Second surface: printed mirrored on clear film and seen through it."""
    COLOUR_WHITE_COLOUR = "colour, white, colour"
    """Day and night backlit."""
    COLOUR_CLEAR = "colour, clear"
    """A clear coat on the colour."""

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers as words: ``("colour", "white", "colour")``."""
        return tuple(self.value.split(", "))

    @property
    def mirrored(self) -> bool:
        """Whether the image is printed mirrored."""
        return self is LayerStack.COLOUR_WHITE


class JdfMedia(FromOutside):
    """How the substrate is named in a JDF Media resource."""

    media_type: str = "Synthetic"
    """``Media@MediaType`` for JDF 1.7 and newer."""
    media_type_before_1_7: str | None = None
    """``Media@MediaType`` for older presses, where it differs (Vinyl for a PVC banner)."""
    media_type_details: str | None = None
    opacity: str | None = None


class Substrate(FromOutside):
    """A substrate of the catalogue."""

    id: Identifier
    name: str
    family: Family
    thickness_um: Positive
    """Thickness in micrometres, liner included: it decides what may run side by side."""
    weight_g_m2: Positive
    widths_mm: tuple[Positive, ...] = Field(min_length=1)
    """Roll widths the shop buys."""
    roll_length_m: Positive = 50
    core_inside_mm: Positive = 76.2
    core_outside_mm: Positive = 86
    core_weight_kg: NotNegative = 0
    """Of the empty core; it counts when a roll is lifted."""
    has_liner: bool = False
    transparent: bool = False
    """Clear: without white the print is hardly seen."""
    metallic: bool = False
    """Metallised: colours need white under them."""
    porous: bool = False
    """Ink goes through it (open mesh, flag textile), so the press needs its ink-catching underlay."""
    print_modes: tuple[Identifier, ...] = Field(min_length=1)
    """Print modes allowed on it."""
    jdf: JdfMedia = JdfMedia()

    @model_validator(mode="after")
    def _core(self) -> "Substrate":
        if self.core_outside_mm <= self.core_inside_mm:
            raise ValueError("core_outside_mm must be larger than core_inside_mm")
        return self

    @property
    def roll_fed(self) -> bool:
        """Whether it comes on a roll at all."""
        return self.family is not Family.RIGID_BOARD

    @property
    def needs_underlay(self) -> bool:
        """Open mesh without its own liner, or porous textile, lets ink through (common practice)."""
        return (self.porous or self.family is Family.MESH) and not self.has_liner


class Direction(StrEnum):
    """Whether the carriage prints on the way out only, or both ways."""

    ONE_WAY = "one way"
    BOTH_WAYS = "both ways"


class PrintMode(FromOutside):
    """A print mode of the shop: resolution, passes, direction, layer stacks, ink."""

    id: Identifier
    name: str
    resolution_dpi: tuple[Positive, Positive]
    """Across and along, in dots per inch."""
    passes: Annotated[int, Field(ge=1, le=64)]
    """More passes, slower and smoother."""
    direction: Direction = Direction.BOTH_WAYS
    """One way sweeps twice as often."""
    layer_stacks: tuple[LayerStack, ...] = (LayerStack.COLOUR,)
    """Layer stacks that this mode prints; each names its layers, first printed first."""
    laydown_ml_m2: dict[str, NotNegative]
    """Ink at full coverage per channel: Cyan, Magenta, Yellow, Black, White, Clear."""
    typical_coverage_percent: dict[str, Annotated[float, Field(ge=0, le=100)]]
    """What to assume per channel where the artwork was not measured; estimates say so."""
    named_feature: str | None = None
    """The name the press knows this mode by; default is the id."""


SPLICE = "splice"
"""What the word for a flaw is where two lengths were joined at the mill."""


class Flaw(FromOutside):
    """A splice or a fault of the substrate: nothing may be printed over it."""

    at_mm: NotNegative
    """Where it begins, from the outer end of the roll as it is now."""
    length_mm: NotNegative = 0
    """How far it reaches along the roll; a splice may be a line."""
    what: Annotated[str, Field(min_length=1, max_length=63)] = SPLICE
    """A word for people, such as splice, crease, stain."""


class Roll(FromOutside):
    """A roll on a lane, or on the shelf."""

    substrate: Identifier
    lot: Annotated[str, Field(min_length=1, max_length=255)]
    number: Annotated[int, Field(ge=1)] = 1
    """Which roll of the lot; lot and number together are the roll's name."""
    width_mm: Positive
    length_left_m: NotNegative
    core_outside_mm: Positive | None = None
    """Outside of its core, where it is not the one that the substrate usually has."""
    flaws: tuple[Flaw, ...] = ()
    """Splices and faults, counted from the outer end."""

    @property
    def identity(self) -> tuple[str, int]:
        """Lot and number: which roll it is, whatever is left on it."""
        return (self.lot, self.number)

    def summary(self) -> dict[str, str | int | float]:
        """The roll in plain values for the history: which, and how much."""
        return {
            "lot": self.lot,
            "number": self.number,
            "substrate": self.substrate,
            "width_mm": self.width_mm,
            "length_left_m": self.length_left_m,
        }

    def used(self, length_mm: float) -> "Roll":
        """The roll with that much less on it, never below nothing; what is flawed lies that much nearer."""
        flaws = []
        for flaw in self.flaws:
            begin, end = flaw.at_mm - length_mm, flaw.at_mm + flaw.length_mm - length_mm
            if end >= 0:
                begin = max(begin, 0.0)
                flaws.append(flaw.model_copy(update={"at_mm": begin, "length_mm": end - begin}))
        left_m = max(0.0, self.length_left_m - length_mm / 1000)
        return self.model_copy(update={"length_left_m": left_m, "flaws": tuple(flaws)})
