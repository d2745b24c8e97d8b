"""FlushQueue: which entries it removes, and how that is told. Asked and commanded alike."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from ticketbridge.answer.queue_filter import QueueFilter
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.queue_messages import EntryMessage, outcome

FLUSHED: Final = frozenset({State.COMPLETED, State.ABORTED})
"""What FlushQueue removes unless its filter names other states: only what has ended, so that a bare FlushQueue
costs nobody an order."""


def to_flush(jobs: Iterable[Standing], entries: QueueFilter) -> list[Standing]:
    """What a FlushQueue with this filter removes of these entries."""
    wanted = entries if entries.statuses else replace(entries, statuses=FLUSHED)
    return wanted.chosen(job for job in jobs if outcome(job, EntryMessage.REMOVE) is State.REMOVED)


def flush_info(jobs: Iterable[Standing]) -> Element:
    """What was removed, or would be."""
    info = child(None, "FlushQueueInfo")
    entries = child(info, "QueueFilter")
    for job in jobs:
        child(entries, "QueueEntryDef", QueueEntryID=job.queue_entry_id)
    return info
