"""What the store knows of the orders of a batch, asked at once: one by one it would take longer than deciding them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from ticketbridge.flow.meaning import Meaning
from ticketbridge.model.job import Job, Standing
from ticketbridge.store.records import Known
from ticketbridge.store.transaction import Transaction


class Memory:
    """Earlier jobs of the same content or the same name, as a transaction sees them.

    Args:
        tx: The transaction.
        orders: Whose content and names are asked for in advance; others are asked for when somebody wants them.
    """

    def __init__(self, tx: Transaction, orders: Sequence[Meaning]) -> None:
        self._tx = tx
        self._known: dict[str, Known | None] = {}
        self._named: dict[tuple[str, str], list[Standing]] = {}
        self._look_for(identity for one in orders for identity in one.identities)
        job_ids = defaultdict[str, set[str]](set)
        for order in (one.order for one in orders if one.order is not None):
            job_ids[order.source].add(order.job_id)
        for source, names in job_ids.items():
            self._look_up(source, names)

    def known_identities(self, identities: Sequence[str]) -> dict[str, Known]:
        """Which of these contents were jobs before. A removed job stands for nothing any more."""
        self._look_for(one for one in identities if one not in self._known)
        return {one: known for one in identities if (known := self._known[one]) is not None}

    def jobs_named(self, source: str, job_id: str) -> list[Standing]:
        """All jobs of that JobID from that source, oldest first."""
        if (source, job_id) not in self._named:
            self._look_up(source, {job_id})
        return self._named[source, job_id]

    def job(self, queue_entry_id: str) -> Job:
        """A job as it was decided."""
        return self._tx.job(queue_entry_id)

    def _look_for(self, identities: Iterable[str]) -> None:
        asked = list(identities)
        self._known |= dict.fromkeys(asked) | self._tx.known_identities(asked)

    def _look_up(self, source: str, job_ids: Iterable[str]) -> None:
        self._named |= {(source, job_id): [] for job_id in job_ids}
        for job in self._tx.jobs_named(source, *job_ids):
            self._named[source, job.job_id].append(job)
