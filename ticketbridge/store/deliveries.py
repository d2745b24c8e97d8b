"""Intentions to hand a ticket over, and the history of everything."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import RowMapping, bindparam, delete, insert, select, union, update

from ticketbridge.model.event import ROLL_USED, Event
from ticketbridge.model.job import as_text
from ticketbridge.model.job_states import OPEN
from ticketbridge.store.records import Delivery, DeliveryState
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import DELIVERY, EVENT, JOB

_INTEND: Final = insert(DELIVERY)
_TELL: Final = insert(EVENT)
_DELIVERED: Final = (
    update(DELIVERY)
    .where(
        DELIVERY.c.queue_entry_id.in_(bindparam("queue_entry_ids", expanding=True)),
        DELIVERY.c.state == "intended",  # what is in doubt stays so until a person says
    )
    .values(state="delivered")
)
_CHARGED: Final = select(EVENT.c.facts).where(
    EVENT.c.queue_entry_id == bindparam("queue_entry_id"), EVENT.c.what == ROLL_USED
)
_AT: Final = DELIVERY.c.device_id == bindparam("device_id")
_TO_SETTLE: Final = union(  # two questions that each have an index; joined by OR they would have none
    select(DELIVERY).where(_AT, DELIVERY.c.state == "intended"),
    select(DELIVERY).join(JOB).where(_AT, JOB.c.state.in_(sorted(OPEN))),
)


class DeliveryStatements(Statements):
    """Intentions to hand a ticket over, and the history of everything."""

    def intend(self, deliveries: Sequence[Delivery], at: datetime) -> None:
        """The tickets lie in the lanes under temporary names; each is delivered by the one rename that follows."""
        if deliveries:
            self._connection.execute(
                _INTEND,
                [
                    {
                        "queue_entry_id": d.queue_entry_id,
                        "device_id": d.device_id,
                        "temporary_name": d.temporary_name,
                        "final_name": d.final_name,
                        "state": "intended",
                        "at": as_text(at),
                    }
                    for d in deliveries
                ],
            )

    def mark_delivered(self, queue_entry_ids: Iterable[str]) -> None:
        """The renames were done."""
        self._connection.execute(_DELIVERED, {"queue_entry_ids": list(queue_entry_ids)})

    def deliveries(self, device_id: str) -> list[Delivery]:
        """Every delivery to a lane whose job is not finished, and every one not marked as delivered."""
        rows = self._connection.execute(_TO_SETTLE, {"device_id": device_id}).mappings()
        return [_delivery(row) for row in rows]

    def delivery(self, queue_entry_id: str) -> Delivery | None:
        """How far the hand-over of a job has come; None where it was never released."""
        row = self._connection.execute(select(DELIVERY).where(DELIVERY.c.queue_entry_id == queue_entry_id))
        found = row.mappings().one_or_none()
        return None if found is None else _delivery(found)

    def next_submission(self, device_id: str) -> Delivery | None:
        """The oldest ticket that a press is still to be sent, or to be asked about."""
        rows = self._connection.execute(
            select(DELIVERY)
            .where(
                DELIVERY.c.device_id == device_id,
                DELIVERY.c.state.in_([DeliveryState.INTENDED, DeliveryState.SUBMITTING]),
            )
            .order_by(DELIVERY.c.at, DELIVERY.c.queue_entry_id)
            .limit(1)
        ).mappings()
        return next((_delivery(row) for row in rows), None)

    def move_delivery(
        self,
        queue_entry_id: str,
        before: Iterable[DeliveryState],
        after: DeliveryState,
        press_entry_id: str | None = None,
    ) -> bool:
        """One step of a delivery, if it still stands where it was thought to. False where it does not."""
        known = {} if press_entry_id is None else {"press_entry_id": press_entry_id}
        done = self._connection.execute(
            update(DELIVERY)
            .where(DELIVERY.c.queue_entry_id == queue_entry_id, DELIVERY.c.state.in_(list(before)))
            .values(state=after, **known)
        )
        return done.rowcount == 1

    def take_back(self, queue_entry_id: str, before: Iterable[DeliveryState]) -> bool:
        """The press surely does not have the ticket: the job is the bridge's again. False where that moved on."""
        done = self._connection.execute(
            delete(DELIVERY).where(
                DELIVERY.c.queue_entry_id == queue_entry_id, DELIVERY.c.state.in_(list(before))
            )
        )
        if done.rowcount == 1:
            self._connection.execute(
                update(JOB).where(JOB.c.queue_entry_id == queue_entry_id).values(given=False)
            )
        return done.rowcount == 1

    def tell(self, *events: Event) -> None:
        """Append to the history."""
        if events:
            self._connection.execute(
                _TELL,
                [
                    {
                        "queue_entry_id": event.queue_entry_id,
                        "what": event.what,
                        "who": event.who,
                        "facts": dict(event.facts),
                        "at": as_text(event.at),
                    }
                    for event in events
                ],
            )

    def history(self, queue_entry_id: str) -> list[Mapping[str, Any]]:
        """Everything that happened to a job, oldest first."""
        rows = self._connection.execute(
            select(EVENT).where(EVENT.c.queue_entry_id == queue_entry_id).order_by(EVENT.c.seq)
        )
        return [dict(row) for row in rows.mappings()]

    def charged_m(self, queue_entry_id: str) -> float:
        """Roll length that was taken off the accounts for a job so far, as its history tells."""
        rows = self._connection.execute(_CHARGED, {"queue_entry_id": queue_entry_id})
        return float(sum(facts.get("length_m", 0.0) for facts in rows.scalars()))


def _delivery(row: RowMapping) -> Delivery:
    return Delivery(
        row["queue_entry_id"],
        row["device_id"],
        row["temporary_name"],
        row["final_name"],
        DeliveryState(row["state"]),
        row["press_entry_id"],
    )
