"""The question that every rule answers: this item, on this lane, now?"""

from dataclasses import dataclass
from datetime import datetime

from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.decide.roll_choice import RollAt
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.lane_state import RunningWork
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.substrate import PrintMode, Roll, Substrate


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Another lane of the same press.

    Attributes:
        lane: Which.
        roll: What is loaded there.
        roll_substrate: Its substrate, where the catalogue has it.
        running: What prints there now.
        running_substrate: Its substrate, where the catalogue has it.
    """

    lane: Lane
    roll: Roll | None = None
    roll_substrate: Substrate | None = None
    running: RunningWork | None = None
    running_substrate: Substrate | None = None


@dataclass(frozen=True, slots=True)
class LaneQuestion:
    """May this item be printed on this lane?

    Attributes:
        item: What to print.
        substrate: From the catalogue; None where the catalogue has no such substrate.
        print_mode: From the catalogue; None where it has no such mode.
        press: The press of the lane.
        lane: The lane.
        loaded: The roll on it.
        roll: The roll that the layout was made for: loaded, on the shelf, on another lane; or None.
        layout: Where the pieces would lie, or why they cannot.
        estimate: What it would take; None without a layout or a mode.
        running: What prints on this lane now.
        neighbours: The other lanes of the press.
        minutes_ahead: Until all that is queued for the lane has been printed.
        change_minutes: All changes to be made first; known only when the other rules have spoken.
        now: With its offset.
        due: With its offset.
        crew_on_shift: Whether anyone trained on the press is there; None: nobody keeps a list.
    """

    item: Item
    substrate: Substrate | None
    print_mode: PrintMode | None
    press: Press
    lane: Lane
    loaded: Roll | None
    roll: RollAt | None
    layout: Layout | LayoutProblem
    estimate: Estimate | None
    running: RunningWork | None
    neighbours: tuple[Neighbour, ...]
    minutes_ahead: float
    now: datetime
    due: datetime | None
    crew_on_shift: bool | None
    change_minutes: float = 0.0
