"""Everything that goes into a ticket for a lane."""

from dataclasses import dataclass
from datetime import datetime

from ticketbridge.model.estimate import Estimate
from ticketbridge.model.job import press_part_id
from ticketbridge.model.layout import Layout
from ticketbridge.model.marks import Mark
from ticketbridge.model.order import Item, Order
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.substrate import PrintMode, Roll, Substrate


@dataclass(frozen=True, slots=True)
class LaneTicket:
    """Everything that goes into a ticket for a lane."""

    queue_entry_id: str
    order: Order
    item: Item
    substrate: Substrate
    print_mode: PrintMode
    press: Press
    lane: Lane
    roll: Roll
    layout: Layout
    estimate: Estimate
    at: datetime
    agent_version: str
    marks: tuple[Mark, ...] = ()
    """What is printed beside the pieces."""
    gang_name: str | None = None
    """Shared by tickets for several lanes of a press that run side by side."""

    def id(self, name: str) -> str:
        """An ID of this ticket."""
        return f"{self.queue_entry_id}.{name}"

    @property
    def press_part_id(self) -> str:
        """The JobPartID that the press will report."""
        return press_part_id(self.item.job_part_id, self.queue_entry_id)

    @property
    def processes(self) -> tuple[str, ...]:
        """The process chain; panels are cut out of the surface by Tiling."""
        tiling = ("Tiling",) if self.layout.panels else ()
        return ("Interpreting", "Rendering", *tiling, "DigitalPrinting")
