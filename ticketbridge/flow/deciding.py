"""From an order as mapped to a decision. Changes nothing: ``explain`` and the bridge call the same function."""

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace
from datetime import datetime

from ticketbridge.accept.read import TicketRead
from ticketbridge.decide.route import Judged, choose, judge_lanes
from ticketbridge.flow.meaning import Meaning, meaning_of
from ticketbridge.model.codes import refuses, severity_of
from ticketbridge.model.finding import Finding, Place, Severity
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.order import Order
from ticketbridge.model.shop import IfSomeAreBad, Shop, Source
from ticketbridge.model.substrate import Roll
from ticketbridge.model.verdict import Answer


@dataclass(frozen=True, slots=True)
class Decided:
    """Everything that was found out about a ticket.

    Attributes:
        meaning: What was read and mapped, without the items left out.
        order: The order as it is taken; None where there is none.
        judged: Every lane's judgement, item by item.
        chosen: The lane of each item; None where no lane can.
        findings: Everything worth saying; any error among them refuses the ticket.
        left_out: What is wrong with items that were left out, where the source takes the good ones alone.
    """

    meaning: Meaning
    order: Order | None
    judged: tuple[tuple[Judged, ...], ...]
    chosen: tuple[Judged | None, ...]
    findings: tuple[Finding, ...]
    left_out: tuple[Finding, ...] = ()

    @property
    def held(self) -> tuple[bool, ...]:
        """Whether the ticket says of each item of the order that it is Held."""
        ticket = self.meaning.read.ticket
        return tuple(item.held for item in ticket.items) if ticket else ()

    @property
    def identities(self) -> tuple[str, ...]:
        """Of each item of the order, with its artwork."""
        return self.meaning.identities

    @property
    def refused(self) -> bool:
        """Whether no job comes of it at all."""
        return refuses(self.findings)


def decide(
    meaning: Meaning,
    *,
    file: str,
    shop: Shop,
    source: Source,
    states: Mapping[str, LaneState],
    now: datetime,
    stock: Sequence[Roll] | None = None,
    experience: Experience = NOTHING_LEARNED,
) -> Decided:
    """Lay out, judge and choose; the good items alone, where that is what the source wants.

    Args:
        meaning: The order.
        file: Name of its file, for findings.
        shop: The shop.
        source: Where it came from; names the mapping.
        states: The lanes now.
        now: The time.
        stock: Rolls on the shelf now; None takes those that the shop was configured with.
        experience: What finished prints taught about time and ink.
    """

    def decided(one: Meaning) -> Decided:
        return _decide(one, file, shop, states, now, stock, experience)

    whole = decided(meaning)
    if not whole.refused or source.bad_items is IfSomeAreBad.TAKE_NONE:
        return whole
    bad = {finding.place.part for finding in whole.findings if severity_of(finding) is Severity.ERROR}
    good = None if None in bad else _without(meaning.read, bad)
    if good is None:
        return whole
    alone = decided(meaning_of(good, file, shop, source))
    left_out = tuple(finding for finding in whole.findings if finding.place.part in bad)
    return whole if alone.refused else replace(alone, left_out=left_out)


def _without(found: TicketRead, parts: Set[str | None]) -> TicketRead | None:
    """The ticket with the items that are not among these parts; None where there is none."""
    ticket = found.ticket
    if ticket is None:
        return None
    kept = [index for index, item in enumerate(ticket.items) if item.part_id(index) not in parts]
    items = tuple(replace(ticket.items[i], number=ticket.items[i].number or i + 1) for i in kept)
    artworks = tuple(found.artworks[i] for i in kept)
    findings = tuple(finding for finding in found.findings if finding.place.part not in parts)
    return TicketRead(replace(ticket, items=items), artworks, findings) if items else None


def _decide(
    meaning: Meaning,
    file: str,
    shop: Shop,
    states: Mapping[str, LaneState],
    now: datetime,
    stock: Sequence[Roll] | None,
    experience: Experience,
) -> Decided:
    order, ticket, findings = meaning.order, meaning.read.ticket, meaning.findings
    if order is None or ticket is None:
        return Decided(meaning, None, (), (), findings)
    crew = shop.settings.on_shift(now)
    judged = tuple(
        judge_lanes(item, order, shop, states, now, crew, stock, experience) for item in order.items
    )
    chosen = tuple(choose(lanes) for lanes in judged)
    for index, best in enumerate(chosen):
        if best is None:
            line, part = ticket.items[index].line, order.items[index].job_part_id
            findings += tuple(one.about_part(part) for one in _no_lane(part, judged[index], file, line))
    return Decided(meaning, order, judged, chosen, findings)


def _no_lane(part: str, judged: Sequence[Judged], file: str, line: int | None) -> tuple[Finding, ...]:
    reasons = [
        Finding(verdict.code, Place(file, line, path=one.verdict.device_id), verdict.facts)
        for one in judged
        for verdict in one.verdict.verdicts
        if verdict.answer is Answer.NEVER
    ]
    return (Finding("route.no-lane", Place(file, line), {"part": part}), *reasons)
