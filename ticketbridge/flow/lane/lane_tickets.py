"""The tickets that lanes get, or would get for a decision, as they are written. Changes nothing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import chain
from typing import Final

from ticketbridge.decide.gang import Gang
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.flow.deciding import Decided
from ticketbridge.hand_over.lane_ticket import LaneTicket, RunPart
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.writing import Element
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Order
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import Roll

NOT_YET: Final = "Q000000"
"""Stands for the queue entry, which is known only when the job is taken."""

GANG_PART: Final = "gang"
"""Stands for the item in the JobPartID of a gang's ticket."""


@dataclass(frozen=True, slots=True)
class Placed:
    """What is printed where: all that a lane's ticket needs of a decision or of a job."""

    queue_entry_id: str
    order: Order
    item: Item
    press: Press
    lane: Lane
    roll: Roll
    layout: Layout
    estimate: Estimate
    gang_name: str | None = None


def lane_ticket(placed: Placed, shop: Shop, at: datetime, agent_version: str) -> LaneTicket:
    """The ticket's content: what the catalogue says of its substrate and mode, and its marks, are added."""
    return LaneTicket(
        queue_entry_id=placed.queue_entry_id,
        order=placed.order,
        item=placed.item,
        substrate=shop.substrates[placed.item.substrate],
        print_mode=shop.print_modes[placed.item.print_mode],
        press=placed.press,
        lane=placed.lane,
        roll=placed.roll,
        layout=placed.layout,
        estimate=placed.estimate,
        at=at,
        agent_version=agent_version,
        marks=marks_on(placed.layout, placed.item, placed.order.job_id, placed.queue_entry_id),
        gang_name=placed.gang_name,
    )


def gang_ticket(
    gang: Gang, placed: Sequence[Placed], shop: Shop, at: datetime, agent_version: str
) -> LaneTicket:
    """One ticket for a gang run: as urgent as its most urgent member, and in nobody's name.

    Args:
        gang: The run.
        placed: Its members, in order, as each would be alone on what it has of the run.
        shop: The shop.
        at: The time that the ticket carries.
        agent_version: The version of the program that it carries.
    """
    first = placed[0]
    dues = [one.order.due for one in placed if one.order.due is not None]
    order = first.order.model_copy(
        update={
            "job_id": gang.name,
            "descriptive_name": f"Gang run of {', '.join(gang.names)}",
            "due": min(dues, default=None),
            "priority": max(one.order.priority for one in placed),
            "customer_id": None,
            "customer_order_id": None,
            "customer_name": None,
        }
    )
    whole = {
        "job_part_id": GANG_PART,
        "descriptive_name": "",
        "quantity": sum(one.item.quantity for one in placed),
    }
    run = replace(
        first,
        queue_entry_id=gang.name,
        order=order,
        item=first.item.model_copy(update=whole),
        layout=gang.run.whole,
        estimate=gang.estimate,
    )
    members = tuple(RunPart(one.queue_entry_id, one.order, one.item, one.layout) for one in placed)
    marks = chain.from_iterable(
        marks_on(one.layout, one.item, one.order.job_id, one.queue_entry_id) for one in placed
    )
    ticket = lane_ticket(run, shop, at, agent_version)
    return replace(ticket, gang=members, marks=tuple(marks))


def lane_tickets(decided: Decided, shop: Shop, at: datetime, agent_version: str) -> list[Element | None]:
    """The ticket of each item; None where it goes to no lane, or no roll is there for it.

    Args:
        decided: The decision.
        shop: The shop.
        at: The time that the tickets carry.
        agent_version: The version of the program that they carry.
    """
    if decided.refused or decided.order is None:
        return [None] * len(decided.chosen)
    tickets: list[Element | None] = []
    for item, best in zip(decided.order.items, decided.chosen, strict=True):
        if best is None or best.roll is None or best.estimate is None or not isinstance(best.layout, Layout):
            tickets.append(None)
            continue
        placed = Placed(
            NOT_YET, decided.order, item, best.press, best.lane, best.roll.roll, best.layout, best.estimate
        )
        tickets.append(write_ticket(lane_ticket(placed, shop, at, agent_version)))
    return tickets
