"""Claimed files to jobs, refusals and repeats: read, decide, commit once, then move the files.

A whole batch shares its commits and its folder syncs, so that a burst does not pay them ticket by ticket.
"""

import errno
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from ticketbridge.accept.claim import Claimed
from ticketbridge.decide.route import Judged
from ticketbridge.flow.bridge import Bridge, read_lane_states, shortened
from ticketbridge.flow.deciding import Decided, decide
from ticketbridge.flow.flaws import on_their_rolls
from ticketbridge.flow.releasing import finish, intend, may_go, prepare
from ticketbridge.flow.reporting import report
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import remedy, sentence, severity_of
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import WAITS_FOR_ROLL, Job, Standing, queue_entry_id_of
from ticketbridge.model.job_states import FINAL, State, Step
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.layout import Layout
from ticketbridge.model.substrate import Roll
from ticketbridge.report.compose import accepted, queue_status, refused, repeated
from ticketbridge.spool import durable
from ticketbridge.spool.places import SourcePlaces
from ticketbridge.store.records import Intake, Known
from ticketbridge.store.transaction import Transaction

ACCEPTED: Final = "accepted"
REPEATED: Final = "repeated"
REFUSED: Final = "refused"

FILE_FAULTS: Final = frozenset({errno.EACCES, errno.EPERM, errno.ELOOP, errno.EISDIR, errno.ENXIO})
"""What a single file can be at fault for: no right to read it, a link or a special file in its place."""


@dataclass(frozen=True, slots=True)
class _Taken:
    claimed: Claimed
    data: bytes
    sha256: str
    fault: Finding | None = None
    """Why it cannot be read."""


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What becomes of one file."""

    taken: _Taken
    place: str
    findings: tuple[Finding, ...] = ()
    job_id: str | None = None
    jobs: tuple[Job, ...] = ()
    replaced: tuple[Standing, ...] = ()
    stands: str | None = None
    """The queue entry that says the same already."""


def accept(bridge: Bridge, batch: Sequence[Claimed]) -> list[Claimed]:
    """Take a batch in. Returns the files left for the next turn.

    A file that revises a job made earlier in the same batch waits for the next turn, when the store knows
    that job.
    """
    taken = _take(bridge, batch)
    with bridge.store.transaction() as tx:
        states, open_jobs = read_lane_states(bridge, tx)
        shelf = tx.shelf()
    outcomes, later = _decide_all(bridge, taken, states, shelf)
    new = [job for outcome in outcomes for job in outcome.jobs]
    gone = {standing.queue_entry_id for outcome in outcomes for standing in outcome.replaced}
    waiting = [job for job in open_jobs if job.state is State.WAITING and not job.given]
    candidates = [job for job in waiting if job.queue_entry_id not in gone] + [
        _standing_of(job) for job in new
    ]
    going = set(may_go(bridge, candidates, states))
    by_name = {job.queue_entry_id: job for job in new}
    older = going - by_name.keys()
    with bridge.store.transaction() as tx:
        jobs = [tx.job(name) for name in sorted(older)]
        fresh = [job for job in new if job.queue_entry_id in going]
        prepared_jobs, laid_anew = on_their_rolls(bridge, tx, [*jobs, *fresh])
    prepared = prepare(bridge, prepared_jobs, laid_anew)
    with bridge.store.transaction() as tx:
        _commit(bridge, tx, outcomes)
        intend(bridge, tx, prepared)
    finish(bridge, prepared.holds)
    for outcome in outcomes:
        move_out(bridge, outcome.taken.claimed, outcome.place, outcome.findings)
    return later


def _take(bridge: Bridge, batch: Sequence[Claimed]) -> list[_Taken]:
    """Read the files and make them durable where they lie now. A file that was taken in already is passed over."""
    limit = bridge.shop.settings.limits.ticket_bytes
    taken = list(bridge.disk.map(lambda claimed: _read(claimed, limit), batch))
    for folder in {one.claimed.path.parent for one in taken if one is not None}:
        durable.sync_folder(folder)
    return [one for one in taken if one is not None]


def _read(claimed: Claimed, limit: int) -> _Taken | None:
    """The file's bytes, or why it cannot be read. A fault of the disk is nobody's ticket's and goes up."""
    try:
        data = durable.read_and_sync(claimed.path, limit)
    except FileNotFoundError:
        return None
    except OSError as error:
        if error.errno not in FILE_FAULTS:
            raise
        finding = Finding("intake.unreadable", Place(claimed.original_name), {"reason": error.strerror})
        return _Taken(claimed, b"", "", finding)
    return _Taken(claimed, data, hashlib.sha256(data).hexdigest())


def _decide_all(
    bridge: Bridge, taken: Sequence[_Taken], states: dict[str, LaneState], shelf: Sequence[Roll]
) -> tuple[list[_Outcome], list[Claimed]]:
    outcomes: list[_Outcome] = []
    later: list[Claimed] = []
    stands: dict[str, str] = {}
    named: set[tuple[str, str]] = set()
    states = dict(states)
    for one in taken:
        if one.fault is not None:
            outcomes.append(_Outcome(one, REFUSED, (one.fault,)))
            continue
        decided = _decide(bridge, one, states, shelf)
        if decided.order is None or decided.identity is None or decided.refused:
            outcomes.append(_refusal(one, decided))
            continue
        name = (decided.order.source, decided.order.job_id)
        if decided.identity in stands:
            outcomes.append(
                _Outcome(one, REPEATED, decided.findings, name[1], stands=stands[decided.identity])
            )
        elif name in named:
            later.append(one.claimed)
        else:
            outcome = _accept_one(bridge, one, decided)
            outcomes.append(outcome)
            named.add(name)
            if outcome.jobs:
                stands[decided.identity] = outcome.jobs[0].queue_entry_id
                _count_in(states, outcome.jobs)
    return outcomes, later


def _decide(bridge: Bridge, one: _Taken, states: dict[str, LaneState], shelf: Sequence[Roll]) -> Decided:
    claimed = one.claimed
    return decide(
        one.data,
        file=claimed.original_name,
        shop=bridge.shop,
        source=bridge.sources[claimed.source_id],
        drop=bridge.source_places(claimed.source_id).drop,
        roots=bridge.artwork_roots(claimed.source_id),
        states=states,
        now=bridge.now(),
        stock=shelf,
    )


def _refusal(one: _Taken, decided: Decided) -> _Outcome:
    findings = decided.findings
    if not one.claimed.whole:
        findings = (Finding("intake.unfinished", Place(one.claimed.original_name)), *findings)
    ticket = decided.read.ticket
    job_id = ticket.values.get("job_id") if ticket else None
    return _Outcome(one, REFUSED, findings, job_id.raw if job_id else None)


def _accept_one(bridge: Bridge, one: _Taken, decided: Decided) -> _Outcome:
    """A new job, a repeat, a revision, or a change that comes too late."""
    order, identity = decided.order, decided.identity
    assert order is not None  # noqa: S101  the caller has looked
    assert identity is not None  # noqa: S101
    with bridge.store.transaction() as tx:
        known = tx.known_identities([identity]).get(identity)
        earlier = tx.jobs_named(order.source, order.job_id)
    if known is not None and known.queue_entry_id is not None:
        return _Outcome(one, REPEATED, decided.findings, order.job_id, stands=known.queue_entry_id)
    at_press = [job for job in earlier if job.given and job.state is not State.REMOVED]
    if at_press:
        facts = {"job_id": order.job_id, "queue_entry_id": at_press[-1].queue_entry_id}
        late = Finding("job.at-press", Place(one.claimed.original_name), facts)
        return _Outcome(one, REFUSED, (*decided.findings, late), order.job_id)
    replaced = tuple(job for job in earlier if job.state not in FINAL)
    revision = 1 + max((job.revision for job in earlier), default=0)
    jobs = tuple(
        _job(bridge, one.claimed, decided, index, best, known, revision)
        for index, best in enumerate(decided.chosen)
        if best is not None
    )
    return _Outcome(one, ACCEPTED, decided.findings, order.job_id, jobs, replaced)


def _job(
    bridge: Bridge,
    claimed: Claimed,
    decided: Decided,
    index: int,
    best: Judged,
    known: Known | None,
    revision: int,
) -> Job:
    order, mapped, identity = decided.order, decided.mapped, decided.identity
    assert order is not None  # noqa: S101  the caller has looked
    assert mapped is not None  # noqa: S101
    assert identity is not None  # noqa: S101
    assert best.estimate is not None  # noqa: S101  a chosen lane has a layout and an estimate
    assert isinstance(best.layout, Layout)  # noqa: S101
    number = next(bridge.numbers)
    return Job(
        number=number,
        queue_entry_id=queue_entry_id_of(number),
        claim_id=claimed.claim_id,
        identity=identity,
        item_index=index,
        printing=1 + (known.printings if known else 0),
        revision=revision,
        device_id=best.lane.device_id,
        order=order,
        roll=best.roll.roll if best.roll else None,
        layout=best.layout,
        judged=tuple(one.verdict for one in decided.judged[index]),
        estimate=best.estimate,
        origins={name: origin.as_json() for name, origin in mapped.origins.items()},
        submitted_at=bridge.now(),
    )


def _count_in(states: dict[str, LaneState], jobs: Iterable[Job]) -> None:
    """The lane is busier by these jobs, for the judgement of the next ticket of the batch."""
    for job in jobs:
        state = states[job.device_id]
        roll = state.roll
        if roll is not None and roll.substrate == job.item.substrate:
            roll = shortened(roll, job.estimate.roll_length_mm)
        minutes = state.minutes_ahead + job.estimate.print_s / 60
        states[job.device_id] = replace(state, minutes_ahead=minutes, roll=roll)


def _commit(bridge: Bridge, tx: Transaction, outcomes: Sequence[_Outcome]) -> None:
    """Everything that the batch changes, in one transaction with the messages about it."""
    now = bridge.now()
    if not outcomes:
        return
    tx.record_intakes(
        [
            Intake(
                o.taken.claimed.claim_id,
                o.taken.claimed.source_id,
                o.taken.claimed.original_name,
                o.place,
                o.taken.sha256,
                o.findings,
            )
            for o in outcomes
        ],
        now,
    )
    for outcome in outcomes:
        for standing in outcome.replaced:
            tx.change_job(standing, state=State.REMOVED, ended_at=now)
            by = outcome.jobs[0].queue_entry_id
            tx.tell(Event(Step.REPLACED, now, standing.queue_entry_id, facts={"by": by}))
    jobs = [job for outcome in outcomes for job in outcome.jobs]
    tx.add_jobs(jobs)
    tx.tell(
        *(
            Event(
                "accepted",
                now,
                job.queue_entry_id,
                facts={"claim_id": job.claim_id, "revision": job.revision},
            )
            for job in jobs
        )
    )
    for source_id in {outcome.taken.claimed.source_id for outcome in outcomes}:
        mine = [outcome for outcome in outcomes if outcome.taken.claimed.source_id == source_id]
        report(bridge, tx, source_id, _messages(bridge, tx, mine))


def _messages(bridge: Bridge, tx: Transaction, outcomes: Sequence[_Outcome]) -> list[Element]:
    """One notification for each file, then one change of the queue for each lane it touched."""
    now = bridge.now()
    messages: list[Element] = []
    changed: dict[str, list[Standing]] = {}
    for outcome in outcomes:
        file_name = outcome.taken.claimed.original_name
        if outcome.place == REFUSED:
            messages.append(refused(file_name, outcome.findings, outcome.job_id, now))
        elif outcome.stands is not None:
            messages.append(repeated(outcome.job_id or "", outcome.stands, file_name, now))
        for old in outcome.replaced:
            removed = replace(old, state=State.REMOVED, ended_at=now)
            changed.setdefault(old.device_id, []).append(removed)
        for job in outcome.jobs:
            standing = _standing_of(job)
            messages.append(accepted(standing, bridge.lanes[job.device_id][1].name, now))
            changed.setdefault(job.device_id, []).append(standing)
    open_jobs = tx.open_jobs() if changed else []
    messages += [
        queue_status(device_id, entries, open_jobs) for device_id, entries in sorted(changed.items())
    ]
    return messages


def _standing_of(job: Job) -> Standing:
    """Where a job stands that was just made."""
    item = job.item
    return Standing(
        queue_entry_id=job.queue_entry_id,
        number=job.number,
        source=job.order.source,
        job_id=job.order.job_id,
        job_part_id=item.job_part_id,
        revision=job.revision,
        state=State.WAITING,
        phase="Waiting",
        status_details=WAITS_FOR_ROLL if job.roll is None else "QueuedToRun",
        device_id=job.device_id,
        given=False,
        priority=job.order.priority,
        due=job.order.due,
        substrate=item.substrate,
        print_mode=item.print_mode,
        layer_stack=item.layer_stack.value,
        quantity=item.quantity,
        print_s=job.estimate.print_s,
        roll_length_mm=job.estimate.roll_length_mm,
        amount=0,
        waste=0,
        submitted_at=job.submitted_at,
        started_at=None,
        ended_at=None,
    )


def move_out(bridge: Bridge, claimed: Claimed, place: str, findings: Sequence[Finding]) -> None:
    """Move a claimed file to the folder that the store names; beside a refused one, its findings in words."""
    places = bridge.source_places(claimed.source_id)
    folder = _folder(places, place)
    if place == REFUSED:
        note = folder / f"{claimed.path.name}.findings.txt"
        durable.write_unsynced(
            note, explanation(claimed.original_name, findings).encode("utf-8", "backslashreplace")
        )
    durable.move(claimed.path, folder / claimed.path.name)


def _folder(places: SourcePlaces, place: str) -> Path:
    return {ACCEPTED: places.accepted, REPEATED: places.repeated, REFUSED: places.refused}[place]


def explanation(file_name: str, findings: Sequence[Finding]) -> str:
    """The findings for the person who dropped the file: what, where, what to do."""
    lines = [f"{file_name} was refused.", ""]
    for finding in findings:
        place = f" ({finding.place})" if str(finding.place) else ""
        lines += [
            f"{severity_of(finding)} {finding.code}{place}",
            f"  {sentence(finding)}",
            f"  What to do: {remedy(finding)}",
            "",
        ]
    return "\n".join(lines)
