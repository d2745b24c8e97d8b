"""What becomes of each part of a good order: a new job, the same again, a revision, or a change that comes too late.

A part is known by JobID and JobPartID and is the same work whatever else is ordered with it. So a corrected part
comes later, alone or with the whole order, and what was taken before is not made twice.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from ticketbridge.decide.map_order import work_of
from ticketbridge.flow.deciding import Decided
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import HELD_ON_CREATE, Standing
from ticketbridge.model.job_states import FINAL, State, Step
from ticketbridge.store.records import Known


@dataclass(frozen=True, slots=True)
class Planning:
    """A job that stays as it is, but for when it is due, how urgent it is, and whether it is held.

    Attributes:
        standing: The job.
        identity: What the ticket is that says so.
        printing: Keeps the identity unique, where an earlier job of it was replaced.
        due: With its offset.
        priority: 0 to 100.
        step: Held or let go by the ticket, where that is new.
    """

    standing: Standing
    identity: str
    printing: int
    due: datetime | None
    priority: int
    step: Step | None


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of one order.

    Attributes:
        new: Which items become jobs, by their index, each with its revision.
        stands: Queue entries that say the same as a part already.
        planned: Jobs that say the same, but are planned anew.
        replaced: Jobs of an earlier revision that the bridge still holds.
        late: Parts whose earlier revision is at the press.
    """

    new: Mapping[int, int]
    stands: tuple[str, ...]
    planned: tuple[Planning, ...]
    replaced: tuple[Standing, ...]
    late: tuple[Finding, ...]


def parts_of(
    decided: Decided,
    file: str,
    known: Mapping[str, Known],
    earlier: Sequence[Standing],
    work_of_job: Callable[[str], str],
) -> Parts:
    """Sort the parts of an order that nothing is wrong with.

    Args:
        decided: The order.
        file: Name of its file, for findings.
        known: What is known of the identities of its parts.
        earlier: All jobs of its JobID from its source, oldest first.
        work_of_job: What a job prints, whatever its planning, by its name.
    """
    assert decided.order is not None  # noqa: S101  the caller has looked
    new: dict[int, int] = {}
    stands, planned, late = [], [], []
    replaced = _not_ordered_any_more(decided, earlier)
    for index, item in enumerate(decided.order.items):
        before = [job for job in earlier if job.job_part_id == item.job_part_id]
        same = _same_work(decided, index, known, before, work_of_job)
        if same is not None:
            planning = _planning(decided, index, known, same)
            if planning is None:
                stands.append(same if isinstance(same, str) else same.queue_entry_id)
            else:
                planned.append(planning)
            continue
        at_press = [job for job in before if job.given and job.state is not State.REMOVED]
        if at_press:
            facts = {"job_id": decided.order.job_id, "queue_entry_id": at_press[-1].queue_entry_id}
            late.append(Finding("job.at-press", Place(file, part=item.job_part_id), facts))
            continue
        replaced += [job for job in before if job.state not in FINAL]
        new[index] = 1 + max((job.revision for job in before), default=0)
    return Parts(new, tuple(stands), tuple(planned), tuple(replaced), tuple(late))


def _same_work(
    decided: Decided,
    index: int,
    known: Mapping[str, Known],
    before: Sequence[Standing],
    work_of_job: Callable[[str], str],
) -> Standing | str | None:
    """The job that prints just this; only its name where it came from another source."""
    assert decided.order is not None  # noqa: S101
    same = known.get(decided.identities[index])
    if same is not None and same.queue_entry_id is not None:
        mine = (job for job in before if job.queue_entry_id == same.queue_entry_id)
        return next(mine, same.queue_entry_id)
    latest = next((job for job in reversed(before) if job.state is not State.REMOVED), None)
    if latest is None:
        return None
    work = work_of(decided.order, decided.order.items[index])
    return latest if work_of_job(latest.queue_entry_id) == work else None


def _planning(
    decided: Decided, index: int, known: Mapping[str, Known], same: Standing | str
) -> Planning | None:
    """What the ticket changes about a job that prints the same; None where that is nothing, or the job has ended."""
    assert decided.order is not None  # noqa: S101
    if isinstance(same, str) or same.state in FINAL:
        return None
    order, identity, step = decided.order, decided.identities[index], None
    if decided.held[index] and same.state is State.WAITING and not same.given:
        step = Step.HELD
    elif not decided.held[index] and same.status_details == HELD_ON_CREATE:
        step = Step.RESUMED
    entry = known.get(identity)
    is_known = entry is not None and entry.queue_entry_id == same.queue_entry_id
    if is_known and step is None:
        return None
    printing = entry.printings + (not is_known) if entry else 1
    return Planning(same, identity, printing, order.due, order.priority, step)


def _not_ordered_any_more(decided: Decided, earlier: Sequence[Standing]) -> list[Standing]:
    """Jobs still held of parts that the order has no more.

    A ticket that names its parts speaks for those alone, as an MIS may send each part as a ticket of its own.
    One whose parts are numbered by us is the order as a whole. What was left out of it is left as it stands.
    """
    ticket = decided.meaning.read.ticket
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
