"""From what a ticket says to an order in the shop's own words, by the administrator's mapping."""

import hashlib
import json
from collections import Counter
from collections.abc import Mapping as Map
from dataclasses import dataclass
from datetime import UTC, datetime

from ticketbridge.decide.map_finishing import map_finishing
from ticketbridge.decide.map_print_mode import map_layers, map_print_mode
from ticketbridge.decide.map_substrate import map_substrate
from ticketbridge.decide.map_values import Gathered, decided_by, words
from ticketbridge.model.finding import Finding
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.order import Item, Order
from ticketbridge.model.origin import Origin
from ticketbridge.model.shop import Shop
from ticketbridge.model.ticket import Read, Ticket

_OF_ARTWORK = ("mime_type", "page", "sha256")
"""What makes artwork whose hash is known the same; where it lies does not."""
_CUSTOMER = ("customer_id", "customer_order_id", "customer_name")


@dataclass(frozen=True, slots=True)
class Mapped:
    """An order, or why there is none.

    Attributes:
        order: None where any finding is an error.
        origins: Where every value came from, by field path such as ``items[0].substrate``.
        findings: Errors and warnings, the order's first, then item by item.
    """

    order: Order | None
    origins: Map[str, Origin]
    findings: tuple[Finding, ...]


def map_order(ticket: Ticket, mapping: Mapping, shop: Shop, source_id: str) -> Mapped:
    """Map a ticket.

    Args:
        ticket: As read; its artwork URL is taken as it stands.
        mapping: The tables of the source that the ticket came from.
        shop: For the catalogue of substrates and print modes.
        source_id: The source's id.
    """
    head = _order_values(ticket, mapping, source_id)
    gathered = [_item_values(index, ticket, mapping, shop) for index in range(len(ticket.items))]
    _part_ids_differ(gathered)
    items = [item.built(Item) for item in gathered]
    head.values["items"] = tuple(item for item in items if item is not None)
    order = head.built(Order) if all(items) else None
    parts = [head, *gathered]
    return Mapped(
        order=order,
        origins={path: origin for part in parts for path, origin in part.origins.items()},
        findings=(*head.findings, *_by_part(ticket, gathered)),
    )


def _by_part(ticket: Ticket, gathered: list[Gathered]) -> tuple[Finding, ...]:
    return tuple(
        finding.about_part(said.part_id(index))
        for index, (said, item) in enumerate(zip(ticket.items, gathered, strict=True))
        for finding in item.findings
    )


def identity_of(order: Order) -> str:
    """What makes two orders the same work: SHA-256, in hex, over a canonical form of the mapped order.

    In it are the job, the customer, the due time, the priority and the items with the hash of their
    artwork. Not in it are the source, as the same order through another door is the same, and the
    artwork's place where its hash is known. Sizes count to a micrometre and times in UTC, so that another
    way of writing the same ticket is no other order. Values at their defaults are left out, so that a field
    the program learns later does not make every known order a new one.
    """
    plain = order.model_dump(mode="json", exclude={"source"}, exclude_defaults=True)
    if order.due is not None:
        plain["due"] = order.due.astimezone(UTC).isoformat()
    for item in plain["items"]:
        if item.get("artwork", {}).get("sha256"):
            item["artwork"] = {name: value for name, value in item["artwork"].items() if name in _OF_ARTWORK}
    text = json.dumps(_rounded(plain), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def identities_of(order: Order) -> tuple[str, ...]:
    """The identity of each item, as if it had been ordered alone: a part is the same work whatever else is ordered."""
    return tuple(identity_of(order.model_copy(update={"items": (item,)})) for item in order.items)


def work_of(order: Order, item: Item) -> str:
    """What is to be printed of an item, whenever it is due and however urgent it is."""
    unplanned = {"items": (item,), "due": None, "priority": Order.model_fields["priority"].default}
    return identity_of(order.model_copy(update=unplanned))


def _rounded(value: object) -> object:
    if isinstance(value, float):
        return round(value, 3)
    if isinstance(value, dict):
        return {name: _rounded(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_rounded(inner) for inner in value]
    return value


def _order_values(ticket: Ticket, mapping: Mapping, source_id: str) -> Gathered:
    head = Gathered(ticket.values)
    head.values["source"] = source_id
    head.demand("job_id", ticket.where["job_id"])
    head.take("descriptive_name", *_CUSTOMER)
    head.take_or("priority", mapping.priority, decided_by("priority", ticket.values))
    if due := ticket.values.get("due"):
        _due(head, due)
    return head


def _due(head: Gathered, due: Read) -> None:
    """The readers give every time its offset; what is no time is for the mapping to say."""
    moment = due.value
    if not isinstance(moment, datetime):
        head.complain(
            "mapping.value-unfit", "due", field="due", said=due.raw, reason="it is no date and time"
        )
        return
    head.put("due", moment, Origin.of(due))


def _item_values(index: int, ticket: Ticket, mapping: Mapping, shop: Shop) -> Gathered:
    item = Gathered(ticket.items[index].values, f"items[{index}].", ticket.items[index].line)
    item.take_or("job_part_id", ticket.items[index].part_id(index))
    item.take("descriptive_name")
    for field in ("finished_width_mm", "finished_height_mm", "quantity"):
        item.demand(field, ticket.where[field])
    item.take_or("bleed_mm", 0.0)
    item.take_or("may_rotate", value=True)
    _panels(item, mapping)
    _one_sided(item)
    _artwork(item)
    substrate = map_substrate(item, mapping.substrates, shop.substrates)
    if substrate:
        map_finishing(item, mapping.finishing, substrate)
    stack = map_layers(item, mapping.layers)
    if substrate and stack:
        map_print_mode(item, mapping.print_modes, shop.print_modes, substrate, stack)
    return item


def _panels(item: Gathered, mapping: Mapping) -> None:
    item.take_or("panels", mapping.panels, decided_by("panels", item.said))
    overlap = decided_by("panel_overlap_mm", item.said)
    item.take_or("panel_overlap_mm", mapping.panel_overlap_mm, overlap)
    if zones := item.said.get("keep_seams_from"):
        item.put("keep_seams_from_mm", [zone.split() for zone in words(zones)], Origin.of(zones))


def _one_sided(item: Gathered) -> None:
    """A roll press prints one side in one pass; a second side would be a second job."""
    sides = item.said.get("sides")
    if sides is None:
        return
    word = str(sides.value)
    if word.startswith("TwoSided"):
        item.complain("mapping.two-sided", "sides", said=word)
    elif word == "Unprinted":
        item.complain("mapping.unprinted", "sides", said=word)


def _artwork(item: Gathered) -> None:
    """As the ticket names it; whether there must be some, and is, was said where it was looked for."""
    url = item.said.get("artwork_url")
    if url is None:
        return
    artwork: dict[str, object] = {"url": url.value}
    for field, name in (("artwork_mime_type", "mime_type"), ("artwork_page", "page")):
        if read := item.said.get(field):
            artwork[name] = read.value
    item.put("artwork", artwork, Origin.of(url))


def _part_ids_differ(items: list[Gathered]) -> None:
    """Messages name an item by its JobPartID, so no two of an order may share one."""
    counted = Counter(str(item.values["job_part_id"]) for item in items)
    for item in items:
        part_id = str(item.values["job_part_id"])
        if counted[part_id] > 1:
            item.complain("mapping.part-twice", "job_part_id", part=part_id)
