"""What may print side by side on one press, and what may not.

Carriage height, step length and pass pattern are common to all lanes under a carriage; so what prints at
the same time shares mode and layers, and is nearly equal in thickness. Customer, job and substrate may
differ.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.substrate import LayerStack, Substrate


@dataclass(frozen=True, slots=True)
class LaneWork:
    """What prints, or would print, on a lane.

    Attributes:
        lane: Where.
        print_mode: Id of the mode.
        layer_stack: What is laid down.
        substrate_id: As the order names it.
        substrate: From the catalogue; None where it is not, or no longer, there.
        roll_width_mm: Width of the roll; None where it is not known yet.
    """

    lane: Lane
    print_mode: str
    layer_stack: LayerStack
    substrate_id: str
    substrate: Substrate | None
    roll_width_mm: float | None


@dataclass(frozen=True, slots=True)
class Clash:
    """Why two works cannot print at once: a row of the table of findings, and its facts."""

    code: str
    facts: Mapping[str, type_of_fact]


def lanes_overlap(one: Lane, other: Lane) -> bool:
    """Whether two lanes share a part of the beam, as a wide lane does with the narrow ones in its span."""
    return one.left_mm < other.right_mm and other.left_mm < one.right_mm


def clash_of(press: Press, mine: LaneWork, theirs: LaneWork) -> Clash | None:
    """Why two works on two lanes of a press cannot print at once, or None where they can."""
    there = theirs.lane.device_id
    if lanes_overlap(mine.lane, theirs.lane):
        return Clash("lanes.beside-overlap", {"other": there})
    if mine.print_mode != theirs.print_mode:
        return Clash(
            "lanes.beside-mode", {"other": there, "mode": mine.print_mode, "other_mode": theirs.print_mode}
        )
    if mine.layer_stack is not theirs.layer_stack:
        return Clash(
            "lanes.beside-layers",
            {"other": there, "layers": mine.layer_stack.value, "other_layers": theirs.layer_stack.value},
        )
    return _substrates_clash(press, mine, theirs) or _widths_clash(press, mine, theirs)


def _substrates_clash(press: Press, mine: LaneWork, theirs: LaneWork) -> Clash | None:
    there = theirs.lane.device_id
    if mine.substrate is None or theirs.substrate is None:
        unknown = mine if mine.substrate is None else theirs
        return Clash("lanes.beside-unknown", {"other": there, "substrate": unknown.substrate_id})
    difference = abs(mine.substrate.thickness_um - theirs.substrate.thickness_um)
    tolerance = press.side_by_side.thickness_tolerance_um
    if difference > tolerance:
        return Clash(
            "lanes.beside-thickness",
            {"other": there, "difference_um": difference, "tolerance_um": tolerance},
        )
    if mine.substrate.needs_underlay != theirs.substrate.needs_underlay:
        return Clash("lanes.beside-underlay", {"other": there})
    return None


def _widths_clash(press: Press, mine: LaneWork, theirs: LaneWork) -> Clash | None:
    """Both rolls and the gap must lie within the outer edges of the two lanes.

    A roll may be mounted anywhere in its lane, so slack in one lane makes room for the other.
    """
    if mine.roll_width_mm is None or theirs.roll_width_mm is None:
        return None
    room = max(mine.lane.right_mm, theirs.lane.right_mm) - min(mine.lane.left_mm, theirs.lane.left_mm)
    needed = mine.roll_width_mm + press.side_by_side.gap_mm + theirs.roll_width_mm
    if needed <= room:
        return None
    return Clash("lanes.beside-width", {"other": theirs.lane.device_id, "needed_mm": needed, "room_mm": room})
