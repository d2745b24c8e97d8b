"""The sample shop with the six mappings of the exports in it, and what they make of a file."""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from ticketbridge.accept.readers.choose import read_orders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.decide.map_order import map_order
from ticketbridge.model.finding import Finding
from ticketbridge.model.order import Order
from ticketbridge.model.shop import Shop


def copy_exports_shop(folder: Path) -> None:
    """The sample shop, and beside its own mappings those of the exports with their cases."""
    copy_sample_shop(folder, exports=True)


@cache
def exports_shop(folder: Path) -> Shop:
    """That shop, loaded."""
    if not folder.exists():
        copy_exports_shop(folder)
    return load_shop(folder).shop


def orders_of(shop: Shop, mapping_id: str, file: str, data: bytes) -> tuple[list[Order], list[Finding]]:
    """The orders of a file as the mapping means them, and everything found on the way."""
    mapping = shop.mappings[mapping_id]
    orders, findings = [], []
    for ticket, found in read_orders(data, file, mapping, shop.settings.limits, shop.settings.time_zone):
        findings += found
        if ticket is not None:
            mapped = map_order(ticket, mapping, shop, "export")
            findings += mapped.findings
            orders += [mapped.order] if mapped.order else []
    return orders, findings


def rounded(orders: Sequence[Order]) -> list[dict[str, object]]:
    """Orders to compare: sizes count to a micrometre."""

    def one(value: object) -> object:
        if isinstance(value, float):
            return round(value, 3)
        if isinstance(value, dict):
            return {name: one(inner) for name, inner in value.items()}
        return [one(inner) for inner in value] if isinstance(value, list | tuple) else value

    return [one(order.model_dump(exclude_defaults=True)) for order in orders]  # type: ignore[misc]
