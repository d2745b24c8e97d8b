"""What is asked of the store as a whole: by those who compare it with the folders, put away what is old, or restore."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Row, delete, insert, select, text, update

from ticketbridge.model.event import RESTORED, Event
from ticketbridge.model.job import as_moment, as_text
from ticketbridge.model.job_states import FINAL, OPEN, State
from ticketbridge.store.records import DeliveryState, Message
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import CHANNEL, DELIVERY, EVENT, INTAKE, JOB, LANE_QUEUE, MESSAGE, RECEIVED

ARCHIVED: Final = "archived"
"""The place of a file that stands in an archive, and what happened when it went there."""
ReceivedId = tuple[str, str]
"""Who sent a message, and its ID."""
_AT_ONCE: Final = 1000
"""Rows asked for together."""


@dataclass(frozen=True, slots=True)
class KnownFile:
    """A dropped file as the store knows it.

    Attributes:
        claim_id: Our own name of it.
        source: Where it was dropped.
        original_name: The name it was dropped under.
        place: The folder that holds it; ``archived`` and ``tried again`` are none.
        sha256: Of its content, in hex; empty where it was never read.
        at: When it was taken in, UTC.
    """

    claim_id: str
    source: str
    original_name: str
    place: str
    sha256: str
    at: datetime


class KeepingStatements(Statements):
    """What is asked of the store as a whole."""

    def complaints_of_the_database(self) -> list[str]:
        """What SQLite finds wrong with its own file; nothing where the server looks after that itself."""
        if self._connection.dialect.name != "sqlite":
            return []
        said = [str(row[0]) for row in self._connection.execute(text("PRAGMA integrity_check(20)"))]
        lost = [f"a row of {row[0]} names one of {row[2]} that is not there"
                for row in self._connection.execute(text("PRAGMA foreign_key_check"))]  # fmt: skip
        return [line for line in said if line != "ok"] + lost

    def known_files(self) -> dict[str, KnownFile]:
        """Every dropped file that was ever taken in, by its claim."""
        names = ("claim_id", "source", "original_name", "place", "sha256", "at")
        rows = self._connection.execute(select(*(INTAKE.c[name] for name in names)))
        return {row[0]: KnownFile(row[0], row[1], row[2], row[3], row[4], as_moment(row[5])) for row in rows}

    def histories(self) -> Iterator[tuple[str, State, list[str]]]:
        """Every job: its name, its state, and what happened to it, oldest first."""
        after = 0
        while rows := self._jobs_after(after):
            names = [row.queue_entry_id for row in rows]
            events: dict[str, list[str]] = {name: [] for name in names}
            told = select(EVENT.c.queue_entry_id, EVENT.c.what)
            mine = told.where(EVENT.c.queue_entry_id.in_(names)).order_by(EVENT.c.seq)
            for event in self._connection.execute(mine):
                events[event.queue_entry_id].append(event.what)
            for row in rows:
                yield row.queue_entry_id, State(row.state), events[row.queue_entry_id]
            after = rows[-1].number

    def _jobs_after(self, number: int) -> list[Row[Any]]:
        asked = select(JOB.c.number, JOB.c.queue_entry_id, JOB.c.state)
        return list(
            self._connection.execute(
                asked.where(JOB.c.number > number).order_by(JOB.c.number).limit(_AT_ONCE)
            )
        )

    def last_needed(self) -> dict[str, datetime | None]:
        """Until when each claim was needed by its jobs: the end of the last one; None while one of them is open."""
        found: dict[str, datetime | None] = {}
        asked = select(JOB.c.claim_id, JOB.c.state, JOB.c.ended_at, JOB.c.submitted_at)
        for row in self._connection.execute(asked):
            _note_needed(found, row.claim_id, row)
        return found

    def open_claims(self) -> set[str]:
        """The claims of every job that is not finished."""
        asked = select(JOB.c.claim_id).where(JOB.c.state.in_(sorted(OPEN)))
        return set(self._connection.execute(asked).scalars())

    def artwork_needed(self) -> dict[str, datetime | None]:
        """Until when each file of artwork was needed, by its path: the end of the last job; None while one is open."""
        found: dict[str, datetime | None] = {}
        asked = select(JOB.c.job_order, JOB.c.item_index, JOB.c.state, JOB.c.ended_at, JOB.c.submitted_at)
        for row in self._connection.execute(asked):
            artwork = row.job_order["items"][row.item_index].get("artwork") or {}
            _note_needed(found, artwork.get("path") or "", row)
        return found

    def note_archived(self, claim_ids: Collection[str], archive: str, files: int, at: datetime) -> None:
        """These files stand in an archive from now on, which the history names."""
        for claim_id in sorted(claim_ids):
            self._connection.execute(
                update(INTAKE).where(INTAKE.c.claim_id == claim_id).values(place=ARCHIVED)
            )
        self._tell(Event(ARCHIVED, at, facts={"archive": archive, "files": files}))

    def sent_messages(self, before: datetime) -> list[Message]:
        """Messages older than that which their subscribers surely have; none that was given up."""
        rows = self._connection.execute(
            select(MESSAGE)
            .join(CHANNEL)
            .where(
                MESSAGE.c.seq <= CHANNEL.c.sent_up_to,
                MESSAGE.c.dead.is_(False),
                MESSAGE.c.at < as_text(before),
            )
            .order_by(MESSAGE.c.channel, MESSAGE.c.seq)
            .limit(_AT_ONCE)
        )
        return [Message(row.channel, row.seq, row.body, row.file_name, as_moment(row.at)) for row in rows]

    def forget_messages(self, messages: Collection[Message]) -> None:
        """Sent messages that stand in an archive."""
        for one in messages:
            self._connection.execute(
                delete(MESSAGE).where(MESSAGE.c.channel == one.channel, MESSAGE.c.seq == one.seq)
            )

    def received_before(self, before: datetime) -> list[ReceivedId]:
        """Messages received before then, as sender and ID; so many as are forgotten together."""
        asked = select(RECEIVED.c.sender_id, RECEIVED.c.message_id).where(RECEIVED.c.at < as_text(before))
        return [(row.sender_id, row.message_id) for row in self._connection.execute(asked.limit(_AT_ONCE))]

    def forget_received(self, received: Collection[ReceivedId]) -> None:
        """Know these no more: the same again would be taken for new."""
        for sender_id, message_id in received:
            self._connection.execute(
                delete(RECEIVED).where(RECEIVED.c.sender_id == sender_id, RECEIVED.c.message_id == message_id)
            )

    def doubt_deliveries(self) -> list[str]:
        """What was at a press and not begun may be printed by now: nobody can tell but a person. Returns the jobs."""
        waiting = select(JOB.c.queue_entry_id).where(
            JOB.c.given.is_(True), JOB.c.state.in_([State.WAITING, State.HELD])
        )
        rows = self._connection.execute(
            update(DELIVERY)
            .where(DELIVERY.c.queue_entry_id.in_(waiting))
            .values(state=DeliveryState.IN_DOUBT)
            .returning(DELIVERY.c.queue_entry_id)
        )
        return sorted(rows.scalars())

    def hold_queue(self, device_id: str) -> None:
        """A lane is given nothing more until a person lets it go on; where it is closed, it stays closed."""
        held = update(LANE_QUEUE).where(LANE_QUEUE.c.device_id == device_id).values(held=True)
        if self._connection.execute(held).rowcount == 0:
            self._connection.execute(
                insert(LANE_QUEUE), {"device_id": device_id, "closed": False, "held": True}
            )

    def leave_numbers_free(self, gap: int, at: datetime) -> None:
        """Go on with numbers that nobody has heard of, of jobs and of messages alike."""
        last = self._connection.execute(select(JOB.c.number).order_by(JOB.c.number.desc()).limit(1)).scalar()
        self._connection.execute(update(CHANNEL).values(last_seq=CHANNEL.c.last_seq + gap))
        self._tell(Event(RESTORED, at, facts={"last_number": (last or 0) + gap}))

    def move_artwork(self, old: Path, new: Path) -> None:
        """The shop folder lies elsewhere now: paths and URLs of artwork below it follow.

        Args:
            old: The folder as it was, absolute.
            new: The folder as it is, absolute.
        """
        moves = {"path": (str(old), str(new)), "url": (old.as_uri(), new.as_uri())}
        for row in self._connection.execute(select(JOB.c.number, JOB.c.job_order)).all():
            order, changed = row.job_order, False
            for artwork in [item["artwork"] for item in order["items"] if item.get("artwork")]:
                for key, (before, after) in moves.items():
                    if str(artwork.get(key)).startswith(f"{before}/"):
                        artwork[key] = after + artwork[key].removeprefix(before)
                        changed = True
            if changed:
                self._connection.execute(
                    update(JOB).where(JOB.c.number == row.number).values(job_order=order)
                )

    def _tell(self, event: Event) -> None:
        facts = {"what": event.what, "who": event.who, "facts": dict(event.facts), "at": as_text(event.at)}
        self._connection.execute(insert(EVENT), facts)


def _note_needed(found: dict[str, datetime | None], what: str, job: Any) -> None:
    ended = as_moment(job.ended_at or job.submitted_at) if job.state in FINAL else None
    before = found.get(what, ended)
    found[what] = None if ended is None or before is None else max(before, ended)
