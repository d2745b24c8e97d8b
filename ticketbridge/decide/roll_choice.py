"""Which roll a job would be printed on in a lane: the loaded one, one from the shelf, or one yet to come."""

from collections.abc import Sequence
from dataclasses import dataclass

from ticketbridge.decide.layout.arrange import arrange
from ticketbridge.decide.layout.arrangement import Arrangement
from ticketbridge.decide.layout.flaws import shifts
from ticketbridge.decide.layout.formulas import TOLERANCE_MM, waste_percent
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.model.order import Item
from ticketbridge.model.press import Lane
from ticketbridge.model.substrate import Roll, Substrate


@dataclass(frozen=True, slots=True)
class RollAt:
    """A roll and where it is: on the lane of that DeviceID, or on the shelf (None)."""

    roll: Roll
    device_id: str | None


@dataclass(frozen=True, slots=True)
class RollChoice:
    """The roll that a lane is judged with.

    Attributes:
        roll: None where the shop has no roll that suits; then the width is one that the shop buys.
        width_mm: Width of the roll.
        arrangement: How the item stands on it, or why it cannot.
    """

    roll: RollAt | None
    width_mm: float
    arrangement: Arrangement | LayoutProblem


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A width that the item can be printed on, and what it takes."""

    roll: RollAt | None
    width_mm: float
    arrangement: Arrangement
    consumed_mm: float
    waste_percent: float

    @property
    def left_mm(self) -> float:
        return self.roll.roll.length_left_m * 1000 if self.roll else 0.0

    @property
    def lot(self) -> str:
        return self.roll.roll.lot if self.roll else ""


def choose_roll(
    item: Item, substrate: Substrate, lane: Lane, loaded: Roll | None, available: Sequence[RollAt]
) -> RollChoice:
    """The roll that a lane is judged with.

    The loaded roll is taken where it suits and holds enough, since it costs no change. Else the roll that
    holds enough: from the shelf rather than from another lane, then with the least waste, then the widest,
    then the shortest remnant. If none holds enough, the longest. If there is none at all, the width that
    the shop buys with the least waste.

    Args:
        item: What to print.
        substrate: What it is printed on.
        lane: Where.
        loaded: The roll on this lane.
        available: Rolls on the shelf and on idle lanes. Those of other substrates are passed over.
    """
    on_width = _Widths(item, lane)
    here = RollAt(loaded, lane.device_id) if loaded and loaded.substrate == substrate.id else None
    if here and (fitting := on_width.candidate(here.roll.width_mm, here)) and _holds_enough(fitting):
        return _choice(fitting)
    rolls = [at for at in available if at.roll.substrate == substrate.id] + ([here] if here else [])
    suiting = [found for at in rolls if (found := on_width.candidate(at.roll.width_mm, at))]
    if enough := [candidate for candidate in suiting if _holds_enough(candidate)]:
        return _choice(min(enough, key=_by_preference))
    if suiting:
        return _choice(min(suiting, key=_by_length))
    bought = [found for width in substrate.widths_mm if (found := on_width.candidate(width, None))]
    if bought:
        return _choice(min(bought, key=_by_preference))
    return _no_width(on_width, substrate, lane)


class _Widths:
    """The item arranged on every width asked for, each once."""

    def __init__(self, item: Item, lane: Lane) -> None:
        self._item = item
        self._lane = lane
        self._piece_area_mm2 = item.quantity * item.finished_width_mm * item.finished_height_mm
        self._arranged: dict[float, Arrangement | LayoutProblem] = {}

    def fits_lane(self, width_mm: float) -> bool:
        return width_mm <= self._lane.width_mm + TOLERANCE_MM

    def arranged(self, width_mm: float) -> Arrangement | LayoutProblem:
        if width_mm not in self._arranged:
            self._arranged[width_mm] = arrange(
                self._item, usable_width_mm(self._lane, width_mm), self._lane.gap_mm, self._lane.marks
            )
        return self._arranged[width_mm]

    def candidate(self, width_mm: float, roll: RollAt | None) -> _Candidate | None:
        if not self.fits_lane(width_mm):
            return None
        arrangement = self.arranged(width_mm)
        if isinstance(arrangement, LayoutProblem):
            return None
        length = arrangement.length_mm + self._skipped_mm(arrangement, roll)
        consumed = self._lane.leader_mm + length + self._lane.trailer_mm
        waste = waste_percent(self._piece_area_mm2, consumed * width_mm)
        return _Candidate(roll, width_mm, arrangement, consumed, waste)

    def _skipped_mm(self, arrangement: Arrangement, roll: RollAt | None) -> float:
        """What is left out of the roll so that no row touches one of its flaws."""
        if roll is None or not roll.roll.flaws:
            return 0.0
        bands = list(arrangement.bands_mm(self._lane.gap_mm))
        return shifts(bands, roll.roll.flaws, self._lane.leader_mm, self._lane.gap_mm)[-1]


def usable_width_mm(lane: Lane, roll_width_mm: float) -> float:
    """What may be printed of a roll in a lane, between the margins; 0 where they leave nothing."""
    return max(0.0, roll_width_mm - lane.margin_left_mm - lane.margin_right_mm)


def _holds_enough(candidate: _Candidate) -> bool:
    return candidate.left_mm + TOLERANCE_MM >= candidate.consumed_mm


def _by_preference(candidate: _Candidate) -> tuple[bool, float, float, float, str]:
    elsewhere = candidate.roll is not None and candidate.roll.device_id is not None
    return (
        elsewhere,
        round(candidate.waste_percent, 6),
        -candidate.width_mm,
        candidate.left_mm,
        candidate.lot,
    )


def _by_length(candidate: _Candidate) -> tuple[float, float, str]:
    return (-candidate.left_mm, -candidate.width_mm, candidate.lot)


def _choice(candidate: _Candidate) -> RollChoice:
    return RollChoice(candidate.roll, candidate.width_mm, candidate.arrangement)


def _no_width(on_width: _Widths, substrate: Substrate, lane: Lane) -> RollChoice:
    """No roll and no width serves: the problem on the widest that the lane takes, as that comes nearest."""
    fitting = [width for width in substrate.widths_mm if on_width.fits_lane(width)]
    if not fitting:
        problem = LayoutProblem(
            "lanes.no-width-for-lane",
            {"substrate": substrate.name, "narrowest_mm": min(substrate.widths_mm), "lane_mm": lane.width_mm},
        )
        return RollChoice(None, lane.width_mm, problem)
    return RollChoice(None, max(fitting), on_width.arranged(max(fitting)))
