"""Jobs that are printed packed together, as one ticket."""

from collections.abc import Mapping, Sequence
from typing import Final

from sqlalchemy import bindparam, insert, select

from ticketbridge.model.job import Job
from ticketbridge.model.layout import Layout
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import GANG

_NAME: Final = select(GANG.c.name).where(GANG.c.queue_entry_id == bindparam("queue_entry_id"))
_TICKET: Final = select(GANG.c.ticket).where(GANG.c.queue_entry_id == bindparam("queue_entry_id"))
_MEMBERS: Final = (
    select(GANG.c.queue_entry_id, GANG.c.layout)
    .where(GANG.c.name == bindparam("name"))
    .order_by(GANG.c.place)
)


class GangStatements(Statements):
    """Jobs that are printed packed together."""

    def add_gang(self, name: str, members: Sequence[Job], tickets: Mapping[str, bytes]) -> None:
        """These jobs are one run, in this order.

        Args:
            name: The queue entry under which the press has it.
            members: Their layouts are what each has of the run.
            tickets: By member, its ticket as it would be alone: what goes back for it.
        """
        rows = [
            {
                "queue_entry_id": job.queue_entry_id,
                "name": name,
                "place": place,
                "layout": job.layout.as_json(),
                "ticket": tickets[job.queue_entry_id],
            }
            for place, job in enumerate(members)
        ]
        self._connection.execute(insert(GANG), rows)

    def gang_of(self, queue_entry_id: str) -> str | None:
        """The gang that a job is printed in; None where it is printed alone."""
        found = self._connection.execute(_NAME, {"queue_entry_id": queue_entry_id}).scalar_one_or_none()
        return None if found is None else str(found)

    def gang_ticket(self, queue_entry_id: str) -> bytes:
        """A member's ticket as it would have been alone."""
        return bytes(self._connection.execute(_TICKET, {"queue_entry_id": queue_entry_id}).scalar_one())

    def gang_members(self, name: str) -> dict[str, Layout]:
        """The members of a gang in the order of its ticket, each with what it has of the run."""
        rows = self._connection.execute(_MEMBERS, {"name": name})
        return {row.queue_entry_id: Layout.from_json(row.layout) for row in rows}
