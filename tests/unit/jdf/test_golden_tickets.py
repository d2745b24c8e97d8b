"""Tickets of all versions and forms, with every value that must be read from them and its place."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.unit.jdf.tickets import (
    GOLDEN,
    GOLDEN_PROCESS,
    GOLDEN_PROCESS_TICKETS,
    GOLDEN_TICKETS,
    root_of,
)
from ticketbridge.jdf.check import check
from ticketbridge.jdf.process_nodes import is_process_ticket
from ticketbridge.jdf.read_intent import is_product_intent
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.model.ticket import ITEM_FIELDS, ORDER_FIELDS, Read, Ticket

EVERY_TICKET = [GOLDEN / name for name in GOLDEN_TICKETS] + [
    GOLDEN_PROCESS / name for name in GOLDEN_PROCESS_TICKETS
]


def read(name: str | Path) -> Ticket:
    path = GOLDEN / name
    ticket, findings = read_ticket(root_of(path.read_bytes()), path.name)
    assert findings == []
    return ticket


def as_written(values: Any) -> dict[str, list[Any]]:
    """Values as the expectations write them: times as text, names as a list."""
    return {name: [plain(read.value), read.path] for name, read in values.items()}


def plain(value: object) -> object:
    if isinstance(value, tuple):
        return list(value)
    return value.isoformat() if hasattr(value, "isoformat") else value


@pytest.mark.parametrize("path", EVERY_TICKET, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_a_golden_ticket_is_read_value_by_value(path: Path) -> None:
    expected = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    ticket = read(path)
    assert as_written(ticket.values) == expected["order"]
    assert [as_written(item.values) for item in ticket.items] == expected["items"]
    assert list(ticket.comments) == expected["comments"]


@pytest.mark.parametrize("name", GOLDEN_TICKETS)
def test_a_golden_ticket_is_product_intent(name: str) -> None:
    assert is_product_intent(root_of((GOLDEN / name).read_bytes()))


@pytest.mark.parametrize("name", GOLDEN_PROCESS_TICKETS)
def test_a_golden_process_ticket_is_one_and_has_nothing_wrong_with_it(name: str) -> None:
    root = root_of((GOLDEN_PROCESS / name).read_bytes())
    assert is_process_ticket(root)
    assert not is_product_intent(root)
    assert check(root, name) == []


def test_the_complete_tickets_hold_every_value_there_is() -> None:
    intent, process = read("complete-1.9.jdf"), read(GOLDEN_PROCESS / "complete-1.9.jdf")
    assert set(intent.values) == set(process.values) == set(ORDER_FIELDS)
    poster = read(GOLDEN_PROCESS / "inline-media-1.1.jdf")
    said = [set(ticket.items[0].values) for ticket in (intent, process, poster)]
    assert set().union(*said) == set(ITEM_FIELDS)
    only_in_processes = {"product_id", "media_unit", "print_mode_name", "mirror_around"}
    only_in_intent = {
        "coatings",
        "thickness_low_um",
        "thickness_high_um",
        "weight_low_g_m2",
        "weight_high_g_m2",
    }
    assert said[1] - said[0] == only_in_processes | {"roll_width_mm"}
    assert said[0] - said[1] >= only_in_intent
    # Posters ended with 1.4, so the overlap stands in the oldest ticket.
    assert said[2] - said[0] - said[1] == {"panel_overlap_mm"}


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
    of_processes = {
        str(read(GOLDEN_PROCESS / name).values["version"].value) for name in GOLDEN_PROCESS_TICKETS
    }
    assert of_processes == {"1.1", "1.2", "1.3", "1.5", "1.7", "1.9"}
