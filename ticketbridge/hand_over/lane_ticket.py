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
class RunPart:
    """What one job has of a run.

    Attributes:
        queue_entry_id: The job.
        order: Its order.
        item: What is printed, with its artwork where the press opens it.
        layout: Where its pieces lie, in the run's coordinates.
    """

    queue_entry_id: str
    order: Order
    item: Item
    layout: Layout


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

    gang: tuple[RunPart, ...] = ()
    """The jobs of a gang run, in the ticket's order; its order, item, layout and estimate are then those of the
    whole. Empty where one job is printed."""

    @property
    def parts(self) -> tuple[RunPart, ...]:
        """All jobs that it prints; ``ContentObject@Ord`` counts them, their artwork is a page each."""
        return self.gang or (RunPart(self.queue_entry_id, self.order, self.item, self.layout),)

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
