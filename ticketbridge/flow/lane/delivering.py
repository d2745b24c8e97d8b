"""Tickets that lie ready to their presses: the intention is committed, then comes one rename each."""

from collections.abc import Sequence

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.lane.preparing import Prepared, Together
from ticketbridge.flow.reporting import queue_size, report
from ticketbridge.hand_over.deliver import Hold, hand_over
from ticketbridge.model.event import Event
from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.job_states import State, Step
from ticketbridge.report.compose import queue_status, trouble
from ticketbridge.spool import durable
from ticketbridge.store.records import Delivery
from ticketbridge.store.transaction import Transaction


def intend(bridge: Bridge, tx: Transaction, prepared: Prepared) -> None:
    """Commit the intention to deliver, and hold back what must not leave."""
    now = bridge.now()
    holds = prepared.holds
    for moved in prepared.laid_anew:
        tx.judge_again(tx.standing(moved.queue_entry_id), moved)
        facts = {"roll_length_mm": moved.estimate.roll_length_mm}
        tx.tell(Event("laid out anew", now, moved.queue_entry_id, facts=facts))
    for together in prepared.gangs:
        _join(tx, together)
    tx.intend(
        [Delivery(name, h.device_id, h.temporary_name, h.final_name) for h in holds for name in h.jobs], now
    )
    tx.mark_given([name for hold in holds for name in hold.jobs])
    tx.tell(
        *(
            Event(
                Step.RELEASED,
                now,
                name,
                facts={"device_id": hold.device_id, **prepared.beside.get(name, {}), **_together(hold, name)},
            )
            for hold in holds
            for name in hold.jobs
        )
    )
    for queue_entry_id, reason in prepared.faulty:
        job = tx.standing(queue_entry_id)
        tx.change_job(job, state=State.HELD, status_details="JobHeld")
        held = tx.standing(queue_entry_id)
        tx.tell(Event(Step.HELD, now, queue_entry_id, facts={"reason": reason}))
        report(
            bridge,
            tx,
            job.source,
            [
                trouble(held, "Error", "TicketHeld", reason, now),
                queue_status(job.device_id, [held], queue_size(tx, job.device_id)),
            ],
        )


def _join(tx: Transaction, together: Together) -> None:
    """The members of a gang take their share of its time and roll; what each would take alone stays on record."""
    gang = together.gang
    tx.add_gang(gang.name, gang.members, together.tickets)
    for job in gang.members:
        takes = job.estimate
        standing = tx.standing(job.queue_entry_id)
        tx.change_job(standing, print_s=takes.print_s, roll_length_mm=takes.roll_length_mm)


def _together(hold: Hold, name: str) -> dict[str, type_of_fact]:
    """For the history of a gang's member: who is printed with it."""
    others = [one for one in hold.jobs if one != name]
    return {"gang": hold.queue_entry_id, "together_with": ", ".join(others)} if others else {}


def finish(bridge: Bridge, holds: Sequence[Hold]) -> None:
    """The renames, after the intention was committed. What fails now is tried again from the evidence in the next turn.

    A press that speaks JMF is not given its ticket here: the talk with it has its own thread.
    """
    delivered: list[str] = []
    for hold in holds:
        if bridge.link(hold.device_id) is not None:
            continue
        try:
            hand_over(hold)
        except (OSError, durable.PlaceNotReady) as error:
            bridge.lane_is_gone(hold.device_id, error)
            continue
        delivered += hold.jobs
    if delivered:
        with bridge.store.transaction() as tx:
            tx.mark_delivered(delivered)
