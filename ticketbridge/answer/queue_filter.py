"""``QueueFilter``: which entries a message means. Old and new forms of naming an entry alike."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from ticketbridge.jdf.spans import Unreadable, moment_of
from ticketbridge.jdf.writing import Element
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

_NOT_READ: Final = ("GangNames", "PreviewUsages")
"""Attributes that would narrow the choice and are not read; what is narrowed must not be done to all."""


@dataclass(frozen=True, slots=True)
class QueueFilter:
    """What narrows a choice of entries; nothing narrows none.

    Attributes:
        queue_entry_ids: These entries.
        job_id: Entries of this job of the MIS.
        job_part_id: Of this part.
        statuses: Entries that stand so.
        newer_than: Submitted after this.
        older_than: Submitted before this.
        device_ids: Of these lanes.
        most: At most so many, the first in order.
        details: ``QueueEntryDetails``: None, Brief, JobPhase or JDF.
        changes_only: For a subscription: only what changed.
        takings: For a question about resources: what the entries take is asked for.
        not_read: What it says that is not read here.
    """

    queue_entry_ids: tuple[str, ...] = ()
    job_id: str | None = None
    job_part_id: str | None = None
    statuses: frozenset[State] = frozenset()
    newer_than: datetime | None = None
    older_than: datetime | None = None
    device_ids: frozenset[str] = frozenset()
    most: int | None = None
    details: str = "Brief"
    changes_only: bool = False
    takings: bool = False
    not_read: tuple[str, ...] = ()

    @property
    def names_something(self) -> bool:
        """Whether it says which entries, and not only how they stand."""
        return bool(self.queue_entry_ids or self.job_id)

    def chosen(self, jobs: Iterable[Standing]) -> list[Standing]:
        """The entries that it means, in the order given."""
        found = [job for job in jobs if self._means(job)]
        return found if self.most is None else found[: self.most]

    def _means(self, job: Standing) -> bool:
        return (
            (not self.queue_entry_ids or job.queue_entry_id in self.queue_entry_ids)
            and self.job_id in (None, job.job_id)
            and self.job_part_id in (None, job.job_part_id)
            and (not self.statuses or job.state in self.statuses)
            and (self.newer_than is None or job.submitted_at > self.newer_than)
            and (self.older_than is None or job.submitted_at < self.older_than)
            and (not self.device_ids or job.device_id in self.device_ids)
        )


def read_filter(holders: Sequence[Element], also_named: Sequence[str] = ()) -> QueueFilter:
    """The filter of a message.

    Args:
        holders: The message and its parameters: each may hold a QueueFilter, or a QueueEntryDef (up to 1.4).
        also_named: Entries that the parameters name by an attribute.
    """
    filters = [one for holder in holders for one in holder.iterchildren(jdf("QueueFilter"))]
    names = [
        entry.get("QueueEntryID", "")
        for one in (*holders, *filters)
        for entry in one.iterchildren(jdf("QueueEntryDef"))
    ]
    said = filters[0] if filters else None
    if said is None:
        return QueueFilter(tuple(dict.fromkeys([*names, *also_named])))
    moments, unreadable = _moments(said)
    narrowed = [f"@{name}" for name in _NOT_READ if said.get(name) is not None] + unreadable
    narrowed += ["Part"] if said.find(jdf("Part")) is not None else []
    most = said.get("MaxEntries")
    return QueueFilter(
        queue_entry_ids=tuple(dict.fromkeys([*names, *also_named])),
        job_id=said.get("JobID"),
        job_part_id=said.get("JobPartID"),
        statuses=frozenset(State(word) for word in said.get("StatusList", "").split()),
        newer_than=moments.get("NewerThan"),
        older_than=moments.get("OlderThan"),
        device_ids=frozenset(one.get("DeviceID", "") for one in said.iterchildren(jdf("Device"))),
        most=None if most is None else int(most),
        details=said.get("QueueEntryDetails", "Brief"),
        changes_only=said.get("UpdateGranularity") == "ChangesOnly",
        not_read=tuple(narrowed),
    )


def _moments(said: Element) -> tuple[dict[str, datetime | None], list[str]]:
    """The times that it is narrowed by, and which of them no calendar of ours reaches; INF narrows nothing."""
    moments: dict[str, datetime | None] = {}
    unreadable = []
    for name in ("NewerThan", "OlderThan"):
        try:
            moments[name] = moment_of(said.get(name, ""))
        except Unreadable:
            unreadable.append(f"@{name}")
    return moments, unreadable
