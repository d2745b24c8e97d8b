"""What prints really took, beside what the model had said."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from sqlalchemy import delete, insert, or_, select

from ticketbridge.model.job import Standing, as_text
from ticketbridge.model.learned import Actual
from ticketbridge.store.rows import STANDING_COLUMNS, standing_from_row
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import ACTUAL, JOB

MOST: Final = 2_000
"""The last prints that are read; what is older teaches nothing any more."""

_NAMES: Final = tuple(Actual.__slots__)


class ActualStatements(Statements):
    """What prints really took."""

    def record_actual(self, actual: Actual, at: datetime) -> None:
        """A print ended; told a second time, the later word counts."""
        entry = ACTUAL.c.queue_entry_id == actual.queue_entry_id
        self._connection.execute(delete(ACTUAL).where(entry))
        values = {name: getattr(actual, name) for name in _NAMES}
        self._connection.execute(insert(ACTUAL), {**values, "at": as_text(at)})

    def actuals(self) -> list[Actual]:
        """The last prints, the oldest first."""
        rows = self._connection.execute(
            select(*(ACTUAL.c[name] for name in _NAMES)).order_by(ACTUAL.c.at.desc()).limit(MOST)
        )
        return [Actual(*row) for row in rows][::-1]

    def jobs_meanwhile(self, device_ids: Iterable[str], start: datetime, end: datetime) -> list[Standing]:
        """Jobs that were at work on these lanes at some moment between start and end."""
        rows = self._connection.execute(
            select(*STANDING_COLUMNS).where(
                JOB.c.device_id.in_(list(device_ids)),
                JOB.c.started_at <= as_text(end),
                or_(JOB.c.ended_at.is_(None), JOB.c.ended_at >= as_text(start)),
            )
        )
        return [standing_from_row(row) for row in rows]
