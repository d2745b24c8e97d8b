"""When two orders are the same work."""

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest

from ticketbridge.decide.map_order import identity_of
from ticketbridge.model.order import Item, Order

MakeItem = Callable[..., Item]
MakeOrder = Callable[..., Order]
ART = {"url": "file:///jobs/sail.pdf", "sha256": "ab" * 32}


CANONICAL = (
    '{"due":"2026-03-05T16:00:00+00:00","items":[{"artwork":{"sha256":"' + "ab" * 32 + '"},'
    '"finished_height_mm":500.0,"finished_width_mm":1000.0,"job_part_id":"P1","print_mode":"swift",'
    '"quantity":10,"substrate":"banner-510"}],"job_id":"J-1"}'
)


def test_the_identity_is_the_hash_of_a_form_that_does_not_change(
    make_item: MakeItem, make_order: MakeOrder
) -> None:
    """A stored identity must be found again by a later release: another form makes every order a new one."""
    order = make_order(make_item(artwork=ART), due=datetime(2026, 3, 5, 16, 0, tzinfo=UTC))
    assert identity_of(order) == hashlib.sha256(CANONICAL.encode()).hexdigest()


@pytest.mark.parametrize(
    "changes",
    [
        {"source": "other"},
        {"due": datetime(2026, 3, 5, 17, 0, tzinfo=timezone(timedelta(hours=1)))},
    ],
)
def test_another_door_or_another_time_zone_is_the_same_work(
    make_item: MakeItem, make_order: MakeOrder, changes: dict[str, Any]
) -> None:
    due = datetime(2026, 3, 5, 16, 0, tzinfo=UTC)
    first = make_order(make_item(artwork=ART), due=due)
    again = make_order(make_item(artwork=ART), **({"due": due} | changes))
    assert identity_of(again) == identity_of(first)


@pytest.mark.parametrize(
    "changes",
    [
        {"finished_width_mm": 1000.0001},
        {"artwork": ART | {"url": "file:///elsewhere/sail.pdf"}},
        {"may_rotate": True},
    ],
)
def test_noise_another_place_of_the_artwork_and_a_default_said_aloud_are_the_same_work(
    make_item: MakeItem, make_order: MakeOrder, changes: dict[str, Any]
) -> None:
    first = make_order(make_item(artwork=ART))
    assert identity_of(make_order(make_item(**({"artwork": ART} | changes)))) == identity_of(first)


@pytest.mark.parametrize(
    "changes",
    [
        {"finished_width_mm": 1000.01},
        {"quantity": 11},
        {"bleed_mm": 3},
        {"layer_stack": "white, colour"},
        {"artwork": ART | {"sha256": "cd" * 32}},
        {"artwork": ART | {"page": 1}},
        {"artwork": None},
        {"job_part_id": "P2"},
    ],
)
def test_another_item_is_other_work(
    make_item: MakeItem, make_order: MakeOrder, changes: dict[str, Any]
) -> None:
    first = make_order(make_item(artwork=ART))
    assert identity_of(make_order(make_item(**({"artwork": ART} | changes)))) != identity_of(first)


@pytest.mark.parametrize(
    "changes",
    [
        {"job_id": "J-2"},
        {"customer_name": "Saltmarsh Sailing School"},
        {"priority": 51},
        {"due": datetime(2026, 3, 5, 16, 0, tzinfo=UTC)},
    ],
)
def test_another_job_customer_priority_or_hour_is_other_work(
    make_item: MakeItem, make_order: MakeOrder, changes: dict[str, Any]
) -> None:
    item = make_item()
    assert identity_of(make_order(item, **changes)) != identity_of(make_order(item))


def test_artwork_that_could_not_be_read_counts_by_its_place(
    make_item: MakeItem, make_order: MakeOrder
) -> None:
    one, other = ({"url": f"file:///jobs/{name}.pdf"} for name in ("sail", "flag"))
    assert identity_of(make_order(make_item(artwork=one))) != identity_of(
        make_order(make_item(artwork=other))
    )
