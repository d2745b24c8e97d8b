"""Tickets of jobs that may go: written, checked, and laid ready into their lanes under temporary names."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from ticketbridge.decide.gang import Gang
from ticketbridge.decide.layout.blank_advance import blank_advance_mm, waste_percent_beside
from ticketbridge.decide.partners import ALONE, Partnered
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.lane.artwork_at_hand import artwork_at_hand, url_at_press
from ticketbridge.flow.lane.gangs import NO_LINE, Line, runs_of
from ticketbridge.flow.lane.lane_tickets import Placed, gang_ticket, lane_ticket
from ticketbridge.hand_over.deliver import Hold, hold_for, place
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_checked, write_ticket
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.job import Job
from ticketbridge.model.order import Item
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs


@dataclass(frozen=True, slots=True)
class Together:
    """A gang run whose ticket lies ready."""

    gang: Gang
    tickets: Mapping[str, bytes]
    """By member, its ticket as it would be alone: what goes back for it."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """Jobs whose tickets lie ready in their lanes, and jobs whose ticket must not leave."""

    holds: tuple[Hold, ...]
    faulty: tuple[tuple[str, str], ...]
    """(queue entry, what is wrong with its artwork, or with the ticket we wrote)."""
    laid_anew: tuple[Job, ...] = ()
    """Jobs among them whose layout was moved, because the roll's flaws lie elsewhere by now."""
    beside: Mapping[str, Mapping[str, type_of_fact]] = field(default_factory=dict)
    """By job that runs beside another: which one, and what that costs its roll, for its history."""
    gangs: tuple[Together, ...] = ()
    """The gang runs among them."""


def prepare(
    bridge: Bridge,
    jobs: Sequence[Job],
    laid_anew: Sequence[Job] = (),
    just_read: Iterable[str] = (),
    partnered: Partnered = ALONE,
    line: Line = NO_LINE,
) -> Prepared:
    """Write the tickets, check them by our own schema, and lay them into the lanes under temporary names.

    Args:
        bridge: The bridge.
        jobs: In the order in which they are handed over. Those whose artwork is not at hand yet are left for later.
        laid_anew: Those whose layout was moved.
        just_read: Queue entries whose artwork was looked at a moment ago.
        partnered: Which of them run side by side.
        line: Which jobs behind them may be printed together with them.
    """
    ready: list[tuple[Hold, bytes]] = []
    at_hand = artwork_at_hand(bridge, [*jobs, *line.besides(jobs)], just_read)
    faulty = [(name, f"{sentence(finding)} {remedy(finding)}") for name, finding in at_hand.spoilt]
    for _, finding in at_hand.spoilt:
        bridge.notice(finding.code, **finding.facts)
    partnered = partnered.only([job.queue_entry_id for job in at_hand.good])
    runs = list(runs_of(bridge, jobs, at_hand.good, line))
    gangs = {}
    tickets = [_tickets_of(bridge, run, partnered) for run in runs]
    checked = bridge.beside.share(write_checked, [whole for whole, *_ in tickets])
    for run, (whole, *alone), written in zip(runs, tickets, checked, strict=True):
        members = run.members if isinstance(run, Gang) else (run,)
        name = whole.queue_entry_id
        if refuses(written.findings):
            why = "; ".join(sentence(finding) for finding in written.findings)
            text = f"The ticket for {name} fails our own schema and was not handed over: {why}"
            faulty += [(job.queue_entry_id, text) for job in members]
            continue
        if isinstance(run, Gang):
            gangs[name] = Together(run, {one.queue_entry_id: as_bytes(write_ticket(one)) for one in alone})
        device_id = members[0].device_id
        names = tuple(job.queue_entry_id for job in members)
        lane = bridge.lane_places(device_id)
        hold = hold_for(name, device_id, lane, bridge.share.writer, names)
        ready.append((hold, written.data))
    placed = _all_placed(bridge, ready)
    together = tuple(gangs[hold.queue_entry_id] for hold in placed if hold.queue_entry_id in gangs)
    printed = [job for run in runs for job in (run.members if isinstance(run, Gang) else (run,))]
    return Prepared(tuple(placed), tuple(faulty), tuple(laid_anew), _beside(printed, partnered), together)


def _tickets_of(bridge: Bridge, run: Gang | Job, partnered: Partnered) -> list[LaneTicket]:
    """The ticket that the lane gets; for a gang followed by those of its members as each would be alone."""
    members = run.members if isinstance(run, Gang) else (run,)
    beside = partnered.gangs.get(members[0].queue_entry_id)
    placed = [_placed_job(bridge, job, beside) for job in members]
    now, version = bridge.now(), bridge.agent_version
    alone = [lane_ticket(one, bridge.shop, now, version) for one in placed]
    if not isinstance(run, Gang):
        return alone
    return [gang_ticket(run, placed, bridge.shop, now, version), *alone]


def _placed_job(bridge: Bridge, job: Job, gang_name: str | None) -> Placed:
    """The job on its lane. It has a roll: a job without one is never released."""
    assert job.roll is not None  # noqa: S101
    press, lane = bridge.lanes[job.device_id]
    return Placed(
        job.queue_entry_id,
        job.order,
        _item_at_press(bridge, job),
        press,
        lane,
        job.roll,
        job.layout,
        job.estimate,
        gang_name,
    )


def _item_at_press(bridge: Bridge, job: Job) -> Item:
    """The item with its artwork where the press opens it."""
    url = url_at_press(bridge, job)
    if url is None or job.item.artwork is None:
        return job.item
    artwork = job.item.artwork.model_copy(update={"url": url})
    return job.item.model_copy(update={"artwork": artwork})


def _beside(jobs: Sequence[Job], partnered: Partnered) -> dict[str, dict[str, type_of_fact]]:
    """What running side by side costs each roll, should nothing follow on the shorter lane meanwhile."""
    by_name = {job.queue_entry_id: job for job in jobs}
    found: dict[str, dict[str, type_of_fact]] = {}
    for job in jobs:
        others = partnered.beside(job.queue_entry_id)
        if others:
            longest = max((by_name[name].layout for name in others), key=lambda layout: layout.length_mm)
            found[job.queue_entry_id] = {
                "beside": ", ".join(others),
                "blank_advance_mm": blank_advance_mm(job.layout, longest),
                "waste_percent": round(waste_percent_beside(job.layout, longest), 1),
            }
    return found


def _all_placed(bridge: Bridge, ready: Sequence[tuple[Hold, bytes]]) -> list[Hold]:
    """Lay tickets into their lanes, durable. A lane whose share hangs gets none of its own."""
    placed: list[Hold] = []
    for device_id in dict.fromkeys(hold.device_id for hold, _ in ready):
        mine = [one for one in ready if one[0].device_id == device_id]
        tickets = mine[0][0].tickets
        try:
            found = bridge.on_disk(tickets, [partial(_placed, bridge, *one) for one in mine])
            holds = [hold for hold in found if hold is not None]
            if holds:
                durable.sync_folder(tickets)
        except ShareHangs as error:
            bridge.lane_is_gone(device_id, error)
        else:
            placed += holds
    return placed


def _placed(bridge: Bridge, hold: Hold, ticket: bytes) -> Hold | None:
    try:
        place(hold, ticket)
    except (OSError, durable.PlaceNotReady) as error:
        bridge.lane_is_gone(hold.device_id, error)
        return None
    return hold
