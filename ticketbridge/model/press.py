"""Presses and their lanes."""

from datetime import time
from enum import StrEnum
from typing import Annotated

from pydantic import Field, model_validator

from ticketbridge.model.marks import NO_MARKS, Marks
from ticketbridge.model.press_link import PressLink
from ticketbridge.model.substrate import FromOutside, Identifier, NotNegative, Positive, Roll
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS


class CarriageSpan(StrEnum):
    """How far the carriage travels at each step."""

    IMAGE = "image"
    """Only over what is printed, from the leftmost to the rightmost edge."""
    BEAM = "beam"
    """Always over the full beam."""


class Shafts(StrEnum):
    """Whether the rolls of the lanes turn on one shaft or on one each."""

    COMMON = "common"
    SEPARATE = "separate"


class ArtworkAt(StrEnum):
    """Where a press opens the artwork of its tickets."""

    WHERE_IT_LIES = "where it lies"
    BESIDE_THE_LANE = "beside the lane"


class ThicknessRange(FromOutside):
    """What passes under the carriage."""

    min: NotNegative = 0
    max: Positive


class Underlay(FromOutside):
    """The ink-catching underlay for mesh and porous textile."""

    fitted: bool = False
    """Whether the press has one at all."""
    in_place: bool = False
    """Whether it lies in the press when the bridge first starts."""
    lanes: tuple[Identifier, ...] = ()
    """Lanes that it can serve, by their id."""


class ChangeoverMinutes(FromOutside):
    """What a change takes; common practice, to be set to the shop's own figures."""

    roll: NotNegative = 10
    print_mode: NotNegative = 4
    underlay: NotNegative = 8


class SideBySide(FromOutside):
    """When two lanes may print at once."""

    thickness_tolerance_um: NotNegative = 60
    gap_mm: NotNegative = 50
    """Least distance between the two rolls."""
    diameter_tolerance_mm: NotNegative = 30
    """Only where both rolls turn on a common shaft."""


class Weekday(StrEnum):
    """A day of the week."""

    MONDAY = "mon"
    TUESDAY = "tue"
    WEDNESDAY = "wed"
    THURSDAY = "thu"
    FRIDAY = "fri"
    SATURDAY = "sat"
    SUNDAY = "sun"

    @property
    def number(self) -> int:
        """0 for Monday, as the calendar of the language counts."""
        return list(Weekday).index(self)


class Hours(FromOutside):
    """When somebody is there to change rolls and modes."""

    days: tuple[Weekday, ...] = ()
    """The days of the week, such as ``[mon, tue]``; none means all."""
    start: time
    """Such as "07:00", in the shop's time zone."""
    until: time
    """Such as "22:00"; not after ``start`` means the next day, so "22:00" to "06:00" is a night shift."""


class Lane(FromOutside):
    """One lane: to the MIS a logical Device of its own, with its own queue."""

    id: Identifier
    name: str
    device_id: Identifier
    """The lane's name in every message: ``Device@DeviceID``."""
    left_mm: NotNegative = 0
    """Where the lane begins on the beam."""
    width_mm: Positive
    margin_left_mm: NotNegative = 10
    margin_right_mm: NotNegative = 10
    leader_mm: NotNegative = 500
    """Unprinted length before the first piece of a job: clamps, advance to the carriage."""
    trailer_mm: NotNegative = 500
    """Unprinted length after the last piece of a job."""
    gap_mm: NotNegative = 10
    """Free distance between neighbouring pieces."""
    marks: Marks = NO_MARKS
    """Marks printed beside the pieces for those who cut, join and finish them; none unless said."""
    folder: str
    """The lane's folder, relative to the shop folder: tickets go to ``in``, ``status`` and ``returned`` come back."""
    artwork_at_press: Annotated[str, Field(min_length=1)] | None = None
    """How the press writes the lane's folder ``artwork``, where it does not see it under the same path; a path of
    its own, a share or a drive, as in ``artwork_paths`` of a source."""
    ahead: Annotated[int, Field(ge=0)] = 1
    """Tickets given to the lane ahead of what it has finished; 0 means no limit."""
    roll: Roll | None = None
    """The roll loaded when the bridge first starts; afterwards the store keeps the account."""

    @property
    def right_mm(self) -> float:
        """Where the lane ends on the beam."""
        return self.left_mm + self.width_mm


class Press(FromOutside):
    """A press: one carriage over one or more lanes."""

    id: Identifier
    name: str
    jdf_version: Annotated[
        str, Field(pattern="^(" + "|".join(v.replace(".", r"\.") for v in WRITABLE_VERSIONS) + ")$")
    ] = "1.7"
    """Nothing newer than this is written to the press."""
    beam_width_mm: Positive
    head_swath_mm: Positive
    """Height printed in one sweep."""
    carriage_speed_mm_s: Positive
    ramp_mm: NotNegative
    """Distance the carriage needs to reach its speed."""
    dwell_s: NotNegative = 0.3
    """Turnaround and step of the roll, once a sweep."""
    carriage_span: CarriageSpan = CarriageSpan.IMAGE
    """How far the carriage travels: over what is printed, or always over the full beam."""
    advance_mm: dict[Identifier, Positive] = Field(default_factory=dict)
    """Measured advance per step and print mode; overrides the formula."""
    thickness_um: ThicknessRange
    """What passes under the carriage."""
    channels: tuple[str, ...] = ("Cyan", "Magenta", "Yellow", "Black")
    """Inks fitted."""
    ink_left_ml: dict[str, NotNegative] = Field(default_factory=dict)
    """Ink left per channel, where somebody keeps the account; a channel that is not here is not judged."""
    refuse_without_white: bool = False
    """Whether clear, window or metallised film asked for without white is refused; otherwise there is a warning."""
    underlay: Underlay = Underlay()
    shafts: Shafts = Shafts.SEPARATE
    """Whether the rolls of the lanes turn on one shaft or on one each."""
    changeover_minutes: ChangeoverMinutes = ChangeoverMinutes()
    side_by_side: SideBySide = SideBySide()
    hours: tuple[Hours, ...] = ()
    """When people are there, for the plan: a roll or a mode is changed, and a row of jobs begun, only then; what
    prints goes on without them. None means always. Whether a press may run unattended is for your local codes and
    trained people to say."""

    artwork: ArtworkAt = ArtworkAt.WHERE_IT_LIES
    """Where the press opens the artwork. "where it lies" leaves every file in its place, and the press must reach
    it there. "beside the lane" copies it into the lane's folder ``artwork`` before the ticket is handed over, and
    takes the copy away when no job of the lane needs it any more."""
    crew: tuple[str, ...] = ()
    """People trained on this press; two, so that an absence does not stop it (common practice)."""
    lanes: tuple[Lane, ...] = Field(min_length=1)
    jmf: PressLink | None = None
    """How the press is reached by JMF over HTTP; without it tickets go into its lanes' folders."""

    @model_validator(mode="after")
    def _lanes_fit(self) -> "Press":
        for lane in self.lanes:
            if lane.right_mm > self.beam_width_mm:
                raise ValueError(
                    f"lane {lane.id} ends at {lane.right_mm:g} mm, beyond the beam of {self.beam_width_mm:g} mm"
                )
            if lane.margin_left_mm + lane.margin_right_mm >= lane.width_mm:
                raise ValueError(f"the margins of lane {lane.id} leave nothing to print on")
        return self
