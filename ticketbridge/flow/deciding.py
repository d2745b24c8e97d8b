"""From a ticket as read to a decision. Changes nothing: ``explain`` and the bridge call the same function."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from ticketbridge.accept.read import TicketRead
from ticketbridge.decide.map_order import Mapped, identity_of, map_order
from ticketbridge.decide.route import Judged, choose, judge_lanes
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.order import Artwork, Order
from ticketbridge.model.shop import Shop, Source
from ticketbridge.model.substrate import Roll
from ticketbridge.model.verdict import Answer


@dataclass(frozen=True, slots=True)
class Decided:
    """Everything that was found out about a ticket.

    Attributes:
        read: What the ticket says.
        mapped: What it means in the shop's words, with origins; None where it could not be read.
        order: The mapped order with its artwork; None where there is none.
        identity: Hash of the order and its artwork; None where there is no order.
        judged: Every lane's judgement, item by item.
        chosen: The lane of each item; None where no lane can.
        findings: Everything worth saying; any error among them refuses the ticket.
    """

    read: TicketRead
    mapped: Mapped | None
    order: Order | None
    identity: str | None
    judged: tuple[tuple[Judged, ...], ...]
    chosen: tuple[Judged | None, ...]
    findings: tuple[Finding, ...]

    @property
    def refused(self) -> bool:
        """Whether no job comes of it. An order is taken whole or not at all."""
        return refuses(self.findings)


def decide(
    found: TicketRead,
    *,
    file: str,
    shop: Shop,
    source: Source,
    states: Mapping[str, LaneState],
    now: datetime,
    stock: Sequence[Roll] | None = None,
) -> Decided:
    """Map, lay out, judge and choose.

    Args:
        found: The ticket, as ``accept.read`` returns it.
        file: Name of its file, for findings.
        shop: The shop.
        source: Where it came from; names the mapping.
        states: The lanes now.
        now: The time.
        stock: Rolls on the shelf now; None takes those that the shop was configured with.
    """
    if found.ticket is None or (not found.ticket.items and refuses(found.findings)):
        return Decided(found, None, None, None, (), (), found.findings)
    mapped = map_order(found.ticket, shop.mappings[source.mapping], shop, source.id)
    findings = found.findings + tuple(_in_file(finding, file) for finding in mapped.findings)
    if mapped.order is None:
        return Decided(found, mapped, None, None, (), (), findings)
    order = with_artwork(mapped.order, found.artworks)
    crew = shop.settings.on_shift(now)
    judged = tuple(judge_lanes(item, order, shop, states, now, crew, stock) for item in order.items)
    chosen = tuple(choose(lanes) for lanes in judged)
    for index, best in enumerate(chosen):
        if best is None:
            line = found.ticket.items[index].line
            findings += _no_lane(order.items[index].job_part_id, judged[index], file, line)
    said = order.model_copy(update=dict.fromkeys(found.ticket.assumed))
    return Decided(found, mapped, order, identity_of(said), judged, chosen, findings)


def with_artwork(order: Order, artworks: Sequence[Artwork | None]) -> Order:
    """The order with the artwork as it was found, so that its hash is part of what the order is."""
    items = tuple(
        item.model_copy(update={"artwork": artwork})
        for item, artwork in zip(order.items, artworks, strict=True)
    )
    return order.model_copy(update={"items": items})


def _no_lane(part: str, judged: Sequence[Judged], file: str, line: int | None) -> tuple[Finding, ...]:
    reasons = [
        Finding(verdict.code, Place(file, line, path=one.verdict.device_id), verdict.facts)
        for one in judged
        for verdict in one.verdict.verdicts
        if verdict.answer is Answer.NEVER
    ]
    return (Finding("route.no-lane", Place(file, line), {"part": part}), *reasons)


def _in_file(finding: Finding, file: str) -> Finding:
    return finding if finding.place.file else replace(finding, place=replace(finding.place, file=file))
