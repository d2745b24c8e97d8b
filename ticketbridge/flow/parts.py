"""What becomes of each part of a good order: a new job, the same again, a revision, or a change that comes too late.

A part is known by JobID and JobPartID and is the same work whatever else is ordered with it. So a corrected part
comes later, alone or with the whole order, and what was taken before is not made twice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ticketbridge.flow.deciding import Decided
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL, State
from ticketbridge.store.records import Known


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of one order.

    Attributes:
        new: Which items become jobs, by their index, each with its revision.
        stands: Queue entries that say the same as a part already.
        replaced: Jobs of an earlier revision that the bridge still holds.
        late: Parts whose earlier revision is at the press.
    """

    new: Mapping[int, int]
    stands: tuple[str, ...]
    replaced: tuple[Standing, ...]
    late: tuple[Finding, ...]


def parts_of(decided: Decided, file: str, known: Mapping[str, Known], earlier: Sequence[Standing]) -> Parts:
    """Sort the parts of an order that nothing is wrong with.

    Args:
        decided: The order.
        file: Name of its file, for findings.
        known: What is known of the identities of its parts.
        earlier: All jobs of its JobID from its source, oldest first.
    """
    assert decided.order is not None  # noqa: S101  the caller has looked
    new: dict[int, int] = {}
    stands, late = [], []
    replaced = _not_ordered_any_more(decided, earlier)
    for index, (item, identity) in enumerate(zip(decided.order.items, decided.identities, strict=True)):
        same = known.get(identity)
        if same is not None and same.queue_entry_id is not None:
            stands.append(same.queue_entry_id)
            continue
        before = [job for job in earlier if job.job_part_id == item.job_part_id]
        at_press = [job for job in before if job.given and job.state is not State.REMOVED]
        if at_press:
            facts = {"job_id": decided.order.job_id, "queue_entry_id": at_press[-1].queue_entry_id}
            late.append(Finding("job.at-press", Place(file, part=item.job_part_id), facts))
            continue
        replaced += [job for job in before if job.state not in FINAL]
        new[index] = 1 + max((job.revision for job in before), default=0)
    return Parts(new, tuple(stands), tuple(replaced), tuple(late))


def _not_ordered_any_more(decided: Decided, earlier: Sequence[Standing]) -> list[Standing]:
    """Jobs still held of parts that the order has no more.

    A ticket that names its parts speaks for those alone, as an MIS may send each part as a ticket of its own.
    One whose parts are numbered by us is the order as a whole. What was left out of it is left as it stands.
    """
    ticket = decided.read.ticket
    assert ticket is not None  # noqa: S101
    assert decided.order is not None  # noqa: S101
    if not ticket.numbered:
        return []
    spoken_of = {item.job_part_id for item in decided.order.items}
    spoken_of |= {finding.place.part or "" for finding in decided.left_out}
    return [
        job
        for job in earlier
        if job.job_part_id not in spoken_of and not job.given and job.state not in FINAL
    ]
