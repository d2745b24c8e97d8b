"""What a ticket means in the shop's words, before any lane is asked: the same at every moment, wherever it is worked out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ticketbridge.accept.read import TicketRead
from ticketbridge.decide.map_order import identities_of, map_order
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.model.order import Artwork, Order
from ticketbridge.model.origin import Origin
from ticketbridge.model.shop import Shop, Source


@dataclass(frozen=True, slots=True)
class Meaning:
    """One order of a file, as it was read and mapped.

    Attributes:
        read: What the ticket says.
        order: The mapped order with its artwork; None where there is none.
        origins: Where every value that was mapped came from.
        identities: Of each item of the order, with its artwork; none where there is no order.
        findings: Everything found on the way.
    """

    read: TicketRead
    order: Order | None
    origins: Mapping[str, Origin]
    identities: tuple[str, ...]
    findings: tuple[Finding, ...]


def meaning_of(found: TicketRead, file: str, shop: Shop, source: Source) -> Meaning:
    """Map an order.

    Args:
        found: The order, as ``accept.read`` returns it.
        file: Name of its file, for findings.
        shop: The shop.
        source: Where it came from; names the mapping.
    """
    if found.ticket is None or (not found.ticket.items and refuses(found.findings)):
        return Meaning(found, None, {}, (), found.findings)
    mapped = map_order(found.ticket, shop.mappings[source.mapping], shop, source.id)
    findings = found.findings + tuple(_in_file(finding, file) for finding in mapped.findings)
    if mapped.order is None:
        return Meaning(found, None, mapped.origins, (), findings)
    order = _with_artwork(mapped.order, found.artworks)
    said = order.model_copy(update=dict.fromkeys(found.ticket.assumed))
    return Meaning(found, order, mapped.origins, identities_of(said), findings)


def _with_artwork(order: Order, artworks: Sequence[Artwork | None]) -> Order:
    """The order with the artwork as it was found, so that its hash is part of what the order is."""
    items = tuple(
        item.model_copy(update={"artwork": artwork})
        for item, artwork in zip(order.items, artworks, strict=True)
    )
    return order.model_copy(update={"items": items})


def _in_file(finding: Finding, file: str) -> Finding:
    return finding if finding.place.file else replace(finding, place=replace(finding.place, file=file))
