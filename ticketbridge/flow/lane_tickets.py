"""The tickets that lanes would get for a decision, as they would be written. Changes nothing."""

from datetime import datetime
from typing import Final

from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.flow.deciding import Decided
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.writing import Element
from ticketbridge.model.layout import Layout
from ticketbridge.model.shop import Shop

NOT_YET: Final = "Q000000"
"""Stands for the queue entry, which is known only when the job is taken."""


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
        ticket = LaneTicket(
            queue_entry_id=NOT_YET,
            order=decided.order,
            item=item,
            substrate=shop.substrates[item.substrate],
            print_mode=shop.print_modes[item.print_mode],
            press=best.press,
            lane=best.lane,
            roll=best.roll.roll,
            layout=best.layout,
            estimate=best.estimate,
            at=at,
            agent_version=agent_version,
            marks=marks_on(best.layout, item, decided.order.job_id, NOT_YET),
        )
        tickets.append(write_ticket(ticket))
    return tickets
