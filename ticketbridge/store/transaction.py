"""What can be asked of the store and changed in it, inside one transaction."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, case, func, insert, select, update
from sqlalchemy.exc import OperationalError

from ticketbridge.model.event import ROLL_USED, Event
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Job, Standing, as_moment, as_text
from ticketbridge.model.job_states import FINAL, State
from ticketbridge.store.rolls import RollStatements
from ticketbridge.store.rows import STANDING_COLUMNS, job_from_row, job_row, standing_from_row
from ticketbridge.store.tables import CHANNEL, DELIVERY, EVENT, INTAKE, JOB, MESSAGE, RECEIVED

WorldFault = OperationalError
"""The database cannot do its work now: disk full, locked, away. Nobody's ticket is at fault; try again later."""


class StateMoved(Exception):
    """A job was not in the state it was thought to be in; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Intake:
    """What became of one dropped file."""

    claim_id: str
    source: str
    original_name: str
    place: str
    sha256: str
    findings: Sequence[Finding]


@dataclass(frozen=True, slots=True)
class Known:
    """A content that was a job before: the job that stands for it, if any still does, and how many there were."""

    queue_entry_id: str | None
    printings: int


@dataclass(frozen=True, slots=True)
class Delivery:
    """An intention to hand a ticket to a lane."""

    queue_entry_id: str
    device_id: str
    temporary_name: str
    final_name: str
    delivered: bool


@dataclass(frozen=True, slots=True)
class Message:
    """A message in the outbox: the same bytes on every try."""

    channel: str
    seq: int
    body: bytes
    file_name: str
    at: datetime


class Transaction(RollStatements):
    """The statements, in the words of the shop; those about rolls stand in ``rolls``. Lives as long as the ``with`` that gave it."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    # --- intake -----------------------------------------------------------------------------------

    def record_intakes(self, intakes: Sequence[Intake], at: datetime) -> None:
        """What became of dropped files, and which folder holds each."""
        self._connection.execute(
            insert(INTAKE),
            [
                {
                    "claim_id": intake.claim_id,
                    "source": intake.source,
                    "original_name": intake.original_name.encode("utf-8", "surrogateescape").decode(
                        "utf-8", "backslashreplace"
                    )[:1023],
                    "place": intake.place,
                    "sha256": intake.sha256,
                    "findings": [finding.as_json() for finding in intake.findings],
                    "at": as_text(at),
                }
                for intake in intakes
            ],
        )

    def intake_outcome(self, claim_id: str) -> tuple[str | None, list[Finding]]:
        """The folder that holds a claimed file and what was found; (None, []) where the claim is not known."""
        row = self._connection.execute(
            select(INTAKE.c.place, INTAKE.c.findings).where(INTAKE.c.claim_id == claim_id)
        ).one_or_none()
        if row is None:
            return None, []
        return row.place, [Finding.from_json(finding) for finding in row.findings]

    def refused_intakes(self) -> list[Mapping[str, Any]]:
        """Refused files that were not tried again, oldest first."""
        rows = self._connection.execute(
            select(INTAKE).where(INTAKE.c.place == "refused").order_by(INTAKE.c.at)
        )
        return [dict(row) for row in rows.mappings()]

    def note_tried_again(self, claim_id: str) -> None:
        """The file lies elsewhere now, under a new claim."""
        self._connection.execute(
            update(INTAKE).where(INTAKE.c.claim_id == claim_id).values(place="tried again")
        )

    def intakes(self, limit: int) -> list[Mapping[str, Any]]:
        """The latest dropped files with their outcome, newest first."""
        rows = self._connection.execute(
            select(INTAKE).order_by(INTAKE.c.at.desc(), INTAKE.c.claim_id.desc()).limit(limit)
        )
        return [dict(row) for row in rows.mappings()]

    # --- jobs -------------------------------------------------------------------------------------

    def last_number(self) -> int:
        """The highest job number given so far; 0 where there is none."""
        return int(self._connection.execute(select(func.coalesce(func.max(JOB.c.number), 0))).scalar_one())

    def known_identities(self, identities: Iterable[str]) -> dict[str, Known]:
        """Which of these contents were jobs before. A removed job stands for nothing any more."""
        standing = case((JOB.c.state == State.REMOVED, None), else_=JOB.c.queue_entry_id)
        rows = self._connection.execute(
            select(
                JOB.c.identity,
                func.max(standing).label("queue_entry_id"),
                func.max(JOB.c.printing).label("printings"),
            )
            .where(JOB.c.identity.in_(list(identities)))
            .group_by(JOB.c.identity)
        )
        return {row.identity: Known(row.queue_entry_id, row.printings) for row in rows}

    def jobs_named(self, source: str, job_id: str) -> list[Standing]:
        """All jobs of that JobID from that source, oldest first."""
        return self._standings(JOB.c.source == source, JOB.c.job_id == job_id)

    def add_jobs(self, jobs: Sequence[Job]) -> None:
        """New jobs, Waiting. The unique key refuses the same content a second time."""
        if jobs:
            self._connection.execute(insert(JOB), [job_row(job) for job in jobs])

    def open_jobs(self) -> list[Standing]:
        """Every job that is not finished, oldest first."""
        return self._standings(JOB.c.state.not_in(sorted(FINAL)))

    def all_jobs(self) -> list[Standing]:
        """Every job, oldest first."""
        return self._standings()

    def job(self, queue_entry_id: str) -> Job:
        """The job as decided."""
        row = self._connection.execute(select(JOB).where(JOB.c.queue_entry_id == queue_entry_id))
        return job_from_row(dict(row.mappings().one()))

    def standing(self, queue_entry_id: str) -> Standing:
        """Where the job stands."""
        return self._standings(JOB.c.queue_entry_id == queue_entry_id)[0]

    def find_standing(self, queue_entry_id: str) -> Standing | None:
        """Where the job stands, or None where there is no such job."""
        return next(iter(self._standings(JOB.c.queue_entry_id == queue_entry_id)), None)

    def job_at_lane(self, device_id: str, queue_entry_id: str) -> Standing | None:
        """Where a job stands that was given to that lane; None where the lane was never given it."""
        found = self._standings(
            JOB.c.queue_entry_id == queue_entry_id, JOB.c.device_id == device_id, JOB.c.given.is_(True)
        )
        return found[0] if found else None

    def change_job(self, standing: Standing, **changes: Any) -> None:
        """Change a job, if it still is in the state it was read in.

        Raises:
            StateMoved: It is not.
        """
        for name in ("started_at", "ended_at"):
            if changes.get(name) is not None:
                changes[name] = as_text(changes[name])
        done = self._connection.execute(
            update(JOB)
            .where(JOB.c.queue_entry_id == standing.queue_entry_id, JOB.c.state == standing.state)
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
            "layout",
            "judged",
            "estimate",
            "print_s",
            "roll_length_mm",
        )
        self.change_job(standing, **{name: row[name] for name in names})

    def mark_given(self, queue_entry_ids: Iterable[str]) -> None:
        """These jobs are at their lane, or about to be."""
        self._connection.execute(
            update(JOB)
            .where(JOB.c.queue_entry_id.in_(list(queue_entry_ids)), JOB.c.state == State.WAITING)
            .values(given=True, status_details="QueuedToRun")
        )

    def _standings(self, *conditions: Any) -> list[Standing]:
        rows = self._connection.execute(
            select(*STANDING_COLUMNS).where(*conditions).order_by(JOB.c.number)
        ).mappings()
        return [standing_from_row(dict(row)) for row in rows]

    # --- deliveries -------------------------------------------------------------------------------

    def intend(self, deliveries: Sequence[Delivery], at: datetime) -> None:
        """The tickets lie in the lanes under temporary names; each is delivered by the one rename that follows."""
        if deliveries:
            self._connection.execute(
                insert(DELIVERY),
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
        self._connection.execute(
            update(DELIVERY)
            .where(DELIVERY.c.queue_entry_id.in_(list(queue_entry_ids)))
            .values(state="delivered")
        )

    def deliveries(self, device_id: str) -> list[Delivery]:
        """Every delivery to a lane whose job is not finished, and every one not marked as delivered."""
        rows = self._connection.execute(
            select(DELIVERY)
            .join(JOB, JOB.c.queue_entry_id == DELIVERY.c.queue_entry_id)
            .where(
                DELIVERY.c.device_id == device_id,
                (DELIVERY.c.state == "intended") | JOB.c.state.not_in(sorted(FINAL)),
            )
        ).mappings()
        return [
            Delivery(
                row["queue_entry_id"],
                row["device_id"],
                row["temporary_name"],
                row["final_name"],
                row["state"] == "delivered",
            )
            for row in rows
        ]

    # --- history ----------------------------------------------------------------------------------

    def tell(self, *events: Event) -> None:
        """Append to the history."""
        if events:
            self._connection.execute(
                insert(EVENT),
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
        rows = self._connection.execute(
            select(EVENT.c.facts).where(EVENT.c.queue_entry_id == queue_entry_id, EVENT.c.what == ROLL_USED)
        )
        return float(sum(facts.get("length_m", 0.0) for facts in rows.scalars()))

    # --- messages ---------------------------------------------------------------------------------

    def next_seq(self, channel: str) -> int:
        """Take the next message number of a channel."""
        taken = self._connection.execute(
            update(CHANNEL)
            .where(CHANNEL.c.channel == channel)
            .values(last_seq=CHANNEL.c.last_seq + 1)
            .returning(CHANNEL.c.last_seq)
        ).scalar_one_or_none()
        if taken is None:
            self._connection.execute(insert(CHANNEL), {"channel": channel, "last_seq": 1, "sent_up_to": 0})
        return taken or 1

    def queue_message(self, message: Message) -> None:
        """Put a message into the outbox."""
        self._connection.execute(
            insert(MESSAGE),
            {
                "channel": message.channel,
                "seq": message.seq,
                "body": message.body,
                "file_name": message.file_name,
                "dead": False,
                "at": as_text(message.at),
            },
        )

    def unsent(self, channel: str, after: int, limit: int) -> list[Message]:
        """The next messages of a channel, in order."""
        rows = self._connection.execute(
            select(MESSAGE)
            .where(MESSAGE.c.channel == channel, MESSAGE.c.seq > after, MESSAGE.c.dead.is_(False))
            .order_by(MESSAGE.c.seq)
            .limit(limit)
        ).mappings()
        return [
            Message(row["channel"], row["seq"], row["body"], row["file_name"], as_moment(row["at"]))
            for row in rows
        ]

    def sent_up_to(self, channel: str) -> int:
        """Up to which message the subscriber surely has them."""
        found = self._connection.execute(
            select(CHANNEL.c.sent_up_to).where(CHANNEL.c.channel == channel)
        ).scalar_one_or_none()
        return found or 0

    def channels(self) -> dict[str, tuple[int, int]]:
        """Messages promised and surely sent, by channel."""
        rows = self._connection.execute(select(CHANNEL))
        return {row.channel: (row.last_seq, row.sent_up_to) for row in rows}

    def mark_sent(self, channel: str, seq: int) -> None:
        """The subscriber has everything up to this message; the watermark never goes back."""
        self._connection.execute(
            update(CHANNEL)
            .where(CHANNEL.c.channel == channel)
            .values(sent_up_to=case((CHANNEL.c.sent_up_to < seq, seq), else_=CHANNEL.c.sent_up_to))
        )

    def bury(self, message: Message) -> None:
        """Give a message up; it stays to be looked at and sent again by a person."""
        self._connection.execute(
            update(MESSAGE)
            .where(MESSAGE.c.channel == message.channel, MESSAGE.c.seq == message.seq)
            .values(dead=True)
        )

    # --- presses ----------------------------------------------------------------------------------

    def is_new_message(self, sender_id: str, message_id: str, at: datetime) -> bool:
        """Take note of a message of a press; False where it was taken before."""
        known = self._connection.execute(
            select(RECEIVED.c.at).where(
                RECEIVED.c.sender_id == sender_id, RECEIVED.c.message_id == message_id
            )
        ).scalar_one_or_none()
        if known is None:
            self._connection.execute(
                insert(RECEIVED), {"sender_id": sender_id, "message_id": message_id, "at": as_text(at)}
            )
        return known is None
