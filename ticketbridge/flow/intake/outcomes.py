"""What becomes of each claimed file, order by order: new jobs, a repeat, a revision, a refusal. Changes nothing."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from ticketbridge.accept.claim import Claimed
from ticketbridge.decide.map_order import work_of
from ticketbridge.flow.bridge import Bridge, World, planned_on, shortened
from ticketbridge.flow.deciding import Decided, decide
from ticketbridge.flow.intake.memory import Memory
from ticketbridge.flow.intake.outcome import OrderOutcome, Outcome
from ticketbridge.flow.intake.reading import Readings
from ticketbridge.flow.intake.submitted_to_us import as_submitted, full_lanes
from ticketbridge.flow.intake.waiting import may_wait, missing_artwork, missing_artwork_by_part
from ticketbridge.flow.moving_out import ACCEPTED, REFUSED, REPEATED
from ticketbridge.flow.parts import parts_of
from ticketbridge.flow.taking import Taken
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Job, Standing, queue_entry_id_of
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.layout import Layout
from ticketbridge.model.shop import IfSomeAreBad
from ticketbridge.model.substrate import Roll
from ticketbridge.store.records import Known
from ticketbridge.store.transaction import Transaction


class RevisesThisBatch(Exception):
    """The file revises a job made earlier in the same batch; it waits until the store knows that job."""


class WaitsForArtwork(Exception):
    """An order of the file lacks nothing but artwork, and may wait for it."""

    def __init__(self, missing: tuple[Path, ...]) -> None:
        super().__init__()
        self.missing = missing


@dataclass(frozen=True, slots=True)
class Sorted:
    """A batch, file by file: what is decided, what must come in a turn of its own, what waits for artwork."""

    outcomes: list[Outcome] = field(default_factory=list)
    later: list[Claimed] = field(default_factory=list)
    waits: list[tuple[Claimed, tuple[Path, ...]]] = field(default_factory=list)


@dataclass(slots=True)
class _Batch:
    """What the files of a batch have changed so far, before anything is committed."""

    states: dict[str, LaneState]
    shelf: Sequence[Roll]
    stands: dict[tuple[str, bool], str] = field(default_factory=dict)
    named: set[tuple[str, str]] = field(default_factory=set)
    full: frozenset[str] = frozenset()


def outcomes_of(bridge: Bridge, tx: Transaction, files: Sequence[Readings], world: World) -> Sorted:
    """What becomes of each file.

    Args:
        bridge: The bridge.
        tx: A transaction to ask in what is known of an order.
        files: The batch, as it was read.
        world: The lanes and rolls before it.
    """
    found = Sorted()
    batch = _Batch(dict(world.states), world.shelf)
    if any(file.taken.submission is not None for file in files):
        batch.full = full_lanes(bridge, tx)
    memory = Memory(tx, [order for file in files for order in file.orders])
    for one in files:
        try:
            found.outcomes.append(_of_file(bridge, memory, one, batch))
        except RevisesThisBatch:
            found.later.append(one.taken.claimed)
        except WaitsForArtwork as waits:
            found.waits.append((one.taken.claimed, waits.missing))
    return found


def _of_file(bridge: Bridge, memory: Memory, file: Readings, batch: _Batch) -> Outcome:
    """Judge the orders one after the other; the batch counts them only where the file is taken."""
    one = file.taken
    if one.fault is not None:
        return Outcome(one, (OrderOutcome(REFUSED, (one.fault,)),))
    source = bridge.sources[one.claimed.source_id]
    mine = _Batch(dict(batch.states), batch.shelf, dict(batch.stands))
    orders = []
    missing: tuple[Path, ...] = ()
    for found in file.orders:
        decided = decide(
            found,
            file=one.claimed.original_name,
            shop=bridge.shop,
            source=source,
            states=mine.states,
            now=bridge.now(),
            stock=mine.shelf,
            experience=bridge.experience,
        )
        decided = as_submitted(bridge, memory, one.submission, decided, one.claimed.original_name, batch.full)
        missing += missing_artwork(decided.findings) or missing_artwork_by_part(decided.left_out)
        orders.append(_of_order(bridge, memory, one, decided, mine, batch.named))
    if missing and one.claimed.whole and one.submission is None and may_wait(bridge, one.claimed):
        raise WaitsForArtwork(missing)
    if source.bad_lines is IfSomeAreBad.TAKE_NONE and any(refuses(order.findings) for order in orders):
        return Outcome(one, tuple(_with_the_others(order, one.claimed) for order in orders))
    batch.states, batch.shelf, batch.stands = mine.states, mine.shelf, mine.stands
    batch.named |= mine.named
    return Outcome(one, tuple(orders))


def _of_order(
    bridge: Bridge,
    memory: Memory,
    one: Taken,
    decided: Decided,
    mine: _Batch,
    named: set[tuple[str, str]],
) -> OrderOutcome:
    if decided.order is None or decided.refused or not one.claimed.whole:
        return _refusal(one, decided)
    name = (decided.order.source, decided.order.job_id)
    said = list(zip(decided.identities, decided.held, strict=True))
    if all(one in mine.stands for one in said):
        stands = tuple(mine.stands[one] for one in said)
        findings = (*decided.findings, *decided.left_out)
        return OrderOutcome(REFUSED if decided.left_out else REPEATED, findings, name[1], stands=stands)
    if name in named:
        raise RevisesThisBatch
    outcome = _accept_one(bridge, memory, one, decided)
    mine.named.add(name)
    mine.stands |= {(job.identity, job.held): job.queue_entry_id for job in outcome.jobs}
    _count_in(mine.states, outcome.jobs)
    for job in outcome.jobs:
        mine.shelf = planned_on(mine.shelf, job)
    return outcome


def _refusal(one: Taken, decided: Decided) -> OrderOutcome:
    findings = decided.findings
    if not one.claimed.whole:
        findings = (Finding("intake.unfinished", Place(one.claimed.original_name)), *findings)
    ticket = decided.meaning.read.ticket
    job_id = ticket.values.get("job_id") if ticket else None
    return OrderOutcome(REFUSED, findings, job_id.raw if job_id else None)


def _with_the_others(order: OrderOutcome, claimed: Claimed) -> OrderOutcome:
    """A good order of a file that is taken whole or not at all."""
    if order.place != ACCEPTED:
        return order
    finding = Finding("order.others-refused", Place(claimed.original_name), {"job_id": order.job_id})
    return OrderOutcome(REFUSED, (*order.findings, finding), order.job_id)


def _accept_one(bridge: Bridge, memory: Memory, one: Taken, decided: Decided) -> OrderOutcome:
    """New jobs, repeats, revisions, or a change that comes too late."""
    order = decided.order
    assert order is not None  # noqa: S101  the caller has looked
    known = memory.known_identities(decided.identities)
    earlier = [job for job in memory.jobs_named(order.source, order.job_id) if job.listed]
    parts = parts_of(
        decided, one.claimed.original_name, known, earlier, lambda name: _work_of(memory.job(name))
    )
    findings = (*decided.findings, *decided.left_out, *parts.late)
    changes = parts.new or parts.planned or parts.replaced
    overtaken = _overtaken(memory, one.claimed, earlier) if changes or parts.late else None
    if overtaken is not None:
        return OrderOutcome(REFUSED, (*decided.findings, overtaken), order.job_id)
    take_none = bridge.sources[order.source].bad_items is IfSomeAreBad.TAKE_NONE
    if not changes or (parts.late and take_none):
        place = REFUSED if refuses(findings) else REPEATED
        return OrderOutcome(place, findings, order.job_id, stands=parts.stands)
    jobs = tuple(
        _job(bridge, one.claimed, decided, index, known, revision) for index, revision in parts.new.items()
    )
    return OrderOutcome(ACCEPTED, findings, order.job_id, jobs, parts.replaced, parts.stands, parts.planned)


def _work_of(job: Job) -> str:
    return work_of(job.order, job.item)


def _overtaken(memory: Memory, claimed: Claimed, earlier: Sequence[Standing]) -> Finding | None:
    """A file that waited must not take the place of one that was dropped after it. Claims sort by time."""
    if not claimed.waited:
        return None
    newer = [job for job in earlier if memory.job(job.queue_entry_id).claim_id > claimed.claim_id]
    if not newer:
        return None
    facts = {"queue_entry_id": newer[-1].queue_entry_id}
    return Finding("intake.overtaken", Place(claimed.original_name), facts)


def _job(
    bridge: Bridge, claimed: Claimed, decided: Decided, index: int, known: Mapping[str, Known], revision: int
) -> Job:
    order, best = decided.order, decided.chosen[index]
    assert order is not None  # noqa: S101  the caller has looked
    assert best is not None  # noqa: S101
    assert best.estimate is not None  # noqa: S101  a chosen lane has a layout and an estimate
    assert isinstance(best.layout, Layout)  # noqa: S101
    number, identity = next(bridge.numbers), decided.identities[index]
    before = known.get(identity)
    return Job(
        number=number,
        queue_entry_id=queue_entry_id_of(number),
        claim_id=claimed.claim_id,
        identity=identity,
        item_index=index,
        printing=1 + (before.printings if before else 0),
        revision=revision,
        device_id=best.lane.device_id,
        order=order,
        roll=best.roll.roll if best.roll else None,
        layout=best.layout,
        judged=tuple(one.verdict for one in decided.judged[index]),
        estimate=best.estimate,
        origins={name: origin.as_json() for name, origin in decided.meaning.origins.items()},
        submitted_at=bridge.now(),
        held=decided.held[index],
    )


def _count_in(states: dict[str, LaneState], jobs: Iterable[Job]) -> None:
    """The lane is busier by these jobs, for the judgement of the next ticket of the batch."""
    for job in jobs:
        if job.held:
            continue
        state = states[job.device_id]
        roll = state.roll
        if roll is not None and roll.substrate == job.item.substrate:
            roll = shortened(roll, job.estimate.roll_length_mm)
        minutes = state.minutes_ahead + job.estimate.print_s / 60
        states[job.device_id] = replace(state, minutes_ahead=minutes, roll=roll)
