"""Jobs and where they stand."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any, Final

from sqlalchemy import Select, Text, bindparam, case, cast, func, insert, select, update

from ticketbridge.model.event import RESTORED
from ticketbridge.model.job import Job, Standing, as_text
from ticketbridge.model.job_states import AT_LANE, FINAL, OPEN, State
from ticketbridge.store.records import Known, LaneLoad, QueueSize, StateMoved
from ticketbridge.store.rows import STANDING_COLUMNS, job_from_row, job_row, standing_from_row
from ticketbridge.store.statements import Statements, in_parts
from ticketbridge.store.tables import EVENT, GANG, JOB

# Asked for every ticket, so put together once: SQLAlchemy takes longer to build these than SQLite to answer them.
_ALL: Final = select(*STANDING_COLUMNS).order_by(JOB.c.number)
_OPEN: Final = _ALL.where(JOB.c.state.in_(sorted(OPEN)))
_WAITING: Final = _ALL.where(JOB.c.state == State.WAITING, JOB.c.given.is_(False))
_KIND: Final = (JOB.c.device_id, JOB.c.given, JOB.c.print_mode, JOB.c.layer_stack, JOB.c.substrate)
_TICKET: Final = func.coalesce(GANG.c.name, JOB.c.queue_entry_id)
_LOADS: Final = (
    select(*_KIND, func.count(_TICKET.distinct()), func.sum(JOB.c.print_s), func.sum(JOB.c.roll_length_mm))
    .select_from(JOB.outerjoin(GANG, GANG.c.queue_entry_id == JOB.c.queue_entry_id))
    .where(JOB.c.state.in_(sorted(AT_LANE)))
    .group_by(*_KIND)
    .order_by(func.min(JOB.c.number))
)
_SIZES: Final = (
    select(JOB.c.device_id, func.count(), func.max(case((JOB.c.state == State.RUNNING, 1), else_=0)))
    .where(JOB.c.state.in_(sorted(OPEN)))
    .group_by(JOB.c.device_id)
)
_ROLL: Final = (JOB.c.roll_lot, JOB.c.roll_number)
_PLANNED: Final = (
    select(*_ROLL, func.sum(JOB.c.roll_length_mm))
    .where(
        JOB.c.roll_lot.in_(bindparam("lots", expanding=True)),
        JOB.c.state.in_([State.WAITING, State.HELD]),
        JOB.c.started_at.is_(None),
    )
    .group_by(*_ROLL)
)
_RUNNING: Final = _ALL.where(JOB.c.state == State.RUNNING)
_LISTED: Final = _ALL.where(
    JOB.c.source == bindparam("source"), JOB.c.listed.is_(True), JOB.c.state != State.REMOVED
)
_LISTED_OPEN: Final = _LISTED.where(JOB.c.state.in_(sorted(OPEN)))
_LISTED_ENDED: Final = (
    _LISTED.where(JOB.c.state.in_(sorted(FINAL)))
    .order_by(None)
    .order_by(JOB.c.number.desc())
    .limit(bindparam("most"))
)
ENDED_SHOWN: Final = 1000
"""Of a queue's ended entries so many are shown, the newest; without a bound a queue would grow for ever."""
_RECENT: Final = _ALL.where(
    JOB.c.state.in_(sorted(OPEN))
    | JOB.c.number.in_(
        select(JOB.c.number)
        .where(JOB.c.state.in_(sorted(FINAL)))
        .order_by(JOB.c.number.desc())
        .limit(bindparam("most"))
    )
)
_NAMED: Final = _ALL.where(
    JOB.c.source == bindparam("source"), JOB.c.job_id.in_(bindparam("job_ids", expanding=True))
)
_ORDERS: Final = select(cast(JOB.c.job_order, Text)).where(JOB.c.source == bindparam("source"))
_KNOWN: Final = (
    select(
        JOB.c.identity,
        func.max(case((JOB.c.state == State.REMOVED, None), else_=JOB.c.queue_entry_id)).label(
            "queue_entry_id"
        ),
        func.max(JOB.c.printing).label("printings"),
    )
    .where(JOB.c.identity.in_(bindparam("identities", expanding=True)))
    .group_by(JOB.c.identity)
)
_ADD: Final = insert(JOB)
_JOB: Final = select(JOB).where(JOB.c.queue_entry_id == bindparam("queue_entry_id"))
_STANDING: Final = _ALL.where(JOB.c.queue_entry_id == bindparam("queue_entry_id"))
_GIVEN: Final = (
    update(JOB)
    .where(
        JOB.c.queue_entry_id.in_(bindparam("queue_entry_ids", expanding=True)),
        # Not as a bare column: SQLite would rather go through all that wait than through the few that are named.
        JOB.c.state.concat("") == State.WAITING,
        JOB.c.given.is_(False),
    )
    .values(given=True, status_details="QueuedToRun")
)


class JobStatements(Statements):
    """Jobs and where they stand."""

    def last_number(self) -> int:
        """The highest job number given so far, or left free for good; 0 where there is none."""
        last = int(self._connection.execute(select(func.coalesce(func.max(JOB.c.number), 0))).scalar_one())
        told = select(EVENT.c.facts).where(EVENT.c.queue_entry_id.is_(None), EVENT.c.what == RESTORED)
        restored = self._connection.execute(told).scalars()
        return max([last, *(int(facts["last_number"]) for facts in restored)])

    def known_identities(self, identities: Iterable[str]) -> dict[str, Known]:
        """Which of these contents were jobs before. A removed job stands for nothing any more."""
        found = {}
        for some in in_parts(identities):
            for row in self._connection.execute(_KNOWN, {"identities": some}):
                found[row.identity] = Known(row.queue_entry_id, row.printings)
        return found

    def orders_of(self, source: str) -> Iterator[str]:
        """Every order of that source as it is kept, in text, for those who look for a name in it."""
        for row in self._connection.execute(_ORDERS, {"source": source}).yield_per(1000):
            yield row[0]

    def jobs_named(self, source: str, *job_ids: str) -> list[Standing]:
        """All jobs of these JobIDs from that source, oldest first."""
        found = [
            job for some in in_parts(job_ids) for job in self._found(_NAMED, source=source, job_ids=some)
        ]
        return sorted(found, key=lambda job: job.number)

    def running_jobs(self) -> list[Standing]:
        """What runs, oldest first."""
        return self._found(_RUNNING)

    def queue_entries(self, source: str) -> list[Standing]:
        """What that source sees in the queues, oldest first: open entries, and the newest of those that ended."""
        ended = self._found(_LISTED_ENDED, source=source, most=ENDED_SHOWN)
        return [*reversed(ended), *self._found(_LISTED_OPEN, source=source)]

    def add_jobs(self, jobs: Sequence[Job]) -> None:
        """New jobs, Waiting. The unique key refuses the same content a second time."""
        if jobs:
            self._connection.execute(_ADD, [job_row(job) for job in jobs])

    def open_jobs(self) -> list[Standing]:
        """Every job that is not finished, oldest first."""
        return self._found(_OPEN)

    def waiting_jobs(self) -> list[Standing]:
        """Every job that waits for its lane, oldest first."""
        return self._found(_WAITING)

    def lane_loads(self) -> list[LaneLoad]:
        """What the lanes have to do, by kind; the kind of the oldest job first."""
        return [LaneLoad(*row) for row in self._connection.execute(_LOADS)]

    def planned_on_rolls(self, lots: Collection[str]) -> dict[tuple[str, int], float]:
        """By lot and number: the length of a roll of these lots, in mm, that jobs which have not begun will take."""
        rows = self._connection.execute(_PLANNED, {"lots": sorted(lots)})
        return {(lot, number): length_mm for lot, number, length_mm in rows}

    def queue_sizes(self) -> dict[str, QueueSize]:
        """The queue of each lane that has one."""
        return {row[0]: QueueSize(row[1], bool(row[2])) for row in self._connection.execute(_SIZES)}

    def recent_jobs(self, most_ended: int) -> list[Standing]:
        """Every job that is not finished, and the latest of those that are; oldest first."""
        return self._found(_RECENT, most=most_ended)

    def all_jobs(self) -> list[Standing]:
        """Every job, oldest first."""
        return self._found(_ALL)

    def job(self, queue_entry_id: str) -> Job:
        """The job as decided."""
        row = self._connection.execute(_JOB, {"queue_entry_id": queue_entry_id})
        return job_from_row(dict(row.mappings().one()))

    def standing(self, queue_entry_id: str) -> Standing:
        """Where the job stands."""
        return self._found(_STANDING, queue_entry_id=queue_entry_id)[0]

    def find_standing(self, queue_entry_id: str) -> Standing | None:
        """Where the job stands, or None where there is no such job."""
        return next(iter(self._found(_STANDING, queue_entry_id=queue_entry_id)), None)

    def job_at_lane(self, device_id: str, queue_entry_id: str) -> Standing | None:
        """Where a job stands that was given to that lane; None where the lane was never given it."""
        found = self.find_standing(queue_entry_id)
        return found if found and found.device_id == device_id and found.given else None

    def change_job(self, standing: Standing, **changes: Any) -> None:
        """Change a job, if it still is in the state it was read in, and where it was: waiting here or at the press.

        Raises:
            StateMoved: It is not.
        """
        for name in ("started_at", "ended_at"):
            if changes.get(name) is not None:
                changes[name] = as_text(changes[name])
        done = self._connection.execute(
            update(JOB)
            .where(
                JOB.c.queue_entry_id == standing.queue_entry_id,
                JOB.c.state == standing.state,
                JOB.c.given == standing.given,
            )
            .values(**changes)
        )
        if done.rowcount != 1:
            raise StateMoved(f"{standing.queue_entry_id} is no longer {standing.state}")

    def judge_again(self, standing: Standing, job: Job) -> None:
        """A waiting job got another decision; its name, order and history stay."""
        row = job_row(job)
        names = (
            "device_id",
            "status_details",
            "roll",
            "roll_lot",
            "roll_number",
            "layout",
            "judged",
            "estimate",
            "print_s",
            "roll_length_mm",
        )
        self.change_job(standing, **{name: row[name] for name in names})

    def renew_job(self, standing: Standing, job: Job) -> None:
        """A waiting or held entry got another ticket; its name, state, priority and place stay.

        Raises:
            StateMoved: It is not in the state it was read in.
        """
        stays = {"number", "queue_entry_id", "source", "state", "phase", "given", "priority", "submitted_at"}
        stays |= {"amount", "waste"} | ({"status_details"} if standing.state is State.HELD else set())
        row = job_row(job)
        self.change_job(standing, **{name: value for name, value in row.items() if name not in stays})

    def mark_given(self, queue_entry_ids: Collection[str]) -> None:
        """These jobs are at their lane, or about to be.

        Raises:
            StateMoved: One of them does not wait any more: somebody held or cancelled it meanwhile.
        """
        done = self._connection.execute(_GIVEN, {"queue_entry_ids": list(queue_entry_ids)})
        if done.rowcount != len(queue_entry_ids):
            raise StateMoved("one of " + ", ".join(queue_entry_ids) + " does not wait any more")

    def _found(self, statement: Select[Any], **values: Any) -> list[Standing]:
        return [standing_from_row(row) for row in self._connection.execute(statement, values)]
