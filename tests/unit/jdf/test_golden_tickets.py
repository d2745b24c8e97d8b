"""Tickets of all versions and forms, with every value that must be read from them and its place."""

import json
from typing import Any

import pytest

from tests.unit.jdf.tickets import GOLDEN, GOLDEN_TICKETS, root_of
from ticketbridge.jdf.read_intent import is_product_intent, read_ticket
from ticketbridge.model.ticket import ITEM_FIELDS, ORDER_FIELDS, Read, Ticket


def read(name: str) -> Ticket:
    ticket, findings = read_ticket(root_of((GOLDEN / name).read_bytes()), name)
    assert findings == []
    return ticket


def as_written(values: Any) -> dict[str, list[Any]]:
    """Values as the expectations write them: times as text, names as a list."""
    return {name: [plain(read.value), read.path] for name, read in values.items()}


def plain(value: object) -> object:
    if isinstance(value, tuple):
        return list(value)
    return value.isoformat() if hasattr(value, "isoformat") else value


@pytest.mark.parametrize("name", GOLDEN_TICKETS)
def test_a_golden_ticket_is_read_value_by_value(name: str) -> None:
    expected = json.loads((GOLDEN / name).with_suffix(".json").read_text(encoding="utf-8"))
    ticket = read(name)
    assert as_written(ticket.values) == expected["order"]
    assert [as_written(item.values) for item in ticket.items] == expected["items"]
    assert list(ticket.comments) == expected["comments"]


@pytest.mark.parametrize("name", GOLDEN_TICKETS)
def test_a_golden_ticket_is_product_intent(name: str) -> None:
    assert is_product_intent(root_of((GOLDEN / name).read_bytes()))


def test_the_complete_ticket_holds_every_value_there_is() -> None:
    ticket = read("complete-1.9.jdf")
    assert set(ticket.values) == set(ORDER_FIELDS)
    assert set(ticket.items[0].values) == set(ITEM_FIELDS)


def test_every_value_keeps_what_was_written_and_its_line() -> None:
    ticket = read("complete-1.9.jdf")
    lines = (GOLDEN / "complete-1.9.jdf").read_text(encoding="utf-8").splitlines()
    thickness = ticket.items[0].values["thickness_low_um"]
    assert thickness == Read(
        70.0, "70 ~ 100", "/JDF/ResourcePool/MediaIntent/Thickness/@Range", thickness.line
    )
    assert 'Range="70 ~ 100"' in lines[thickness.line - 1]


def test_tickets_of_every_version_are_here() -> None:
    versions = {str(read(name).values["version"].value) for name in GOLDEN_TICKETS}
    assert versions >= {"1.1", "1.2", "1.3", "1.4", "1.5", "1.6", "1.7", "1.9"}
