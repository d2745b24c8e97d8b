"""Gang runs, whatever the jobs: nothing overlaps or is lost, all shares add up, nobody pays more roll."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.decide.test_gang import gang, made
from ticketbridge.model.gang_share import area_shares, owners_in_print_order, shared_pieces, shared_waste

SIDE = st.integers(min_value=100, max_value=1500)
PIECES = st.lists(st.tuples(SIDE, SIDE, st.integers(min_value=1, max_value=5)), min_size=2, max_size=4)


@settings(max_examples=60, deadline=None)
@given(PIECES)
def test_a_gang_holds_every_piece_once_and_its_shares_are_the_whole(sizes: list[Any]) -> None:
    jobs = [made(number, *size) for number, size in enumerate(sizes, 1)]
    found = gang(*jobs)
    if found is None:
        return
    counts = [len(member.layout.placements) for member in found.members]
    assert counts == [member.item.quantity for member in found.members]
    boxes = [one for member in found.members for one in member.layout.placements]
    for number, one in enumerate(boxes):
        assert one.x_mm >= -1e-6
        assert one.x_mm + one.width_mm <= 1580 + 1e-6
        for other in boxes[number + 1 :]:
            apart_x = max(one.x_mm - other.x_mm - other.width_mm, other.x_mm - one.x_mm - one.width_mm)
            apart_y = max(one.y_mm - other.y_mm - other.height_mm, other.y_mm - one.y_mm - one.height_mm)
            assert max(apart_x, apart_y) >= 10 - 1e-4, "the lane's gap"
    alone_mm = sum(job.estimate.roll_length_mm for job in jobs[: len(found.members)])
    assert sum(member.estimate.roll_length_mm for member in found.members) < alone_mm
    assert sum(member.estimate.print_s for member in found.members) <= sum(
        job.estimate.print_s for job in jobs[: len(found.members)]
    ) * (1 + 1e-9)


@settings(max_examples=60, deadline=None)
@given(PIECES, st.lists(st.booleans(), max_size=30))
def test_what_the_press_counts_is_what_the_members_count(sizes: list[Any], story: list[bool]) -> None:
    """A story of good (True) and spoilt pieces, each told as it happens."""
    found = gang(*(made(number, *size) for number, size in enumerate(sizes, 1)))
    if found is None:
        return
    layouts = {member.queue_entry_id: member.layout for member in found.members}
    owners = owners_in_print_order(layouts)
    good, spoilt = 0, 0
    amounts, wastes = shared_pieces(0, owners), dict.fromkeys(layouts, 0.0)
    for came_out in story:
        good, spoilt = good + came_out, spoilt + (not came_out)
        after, waste = shared_pieces(good, owners), shared_waste(spoilt, good, owners, wastes)
        assert sum(after.values()) == good
        assert sum(waste.values()) == spoilt
        assert all(after[name] >= amounts[name] and waste[name] >= wastes[name] for name in layouts)
        amounts, wastes = after, waste
    assert shared_pieces(len(owners), owners) == {
        member.queue_entry_id: member.item.quantity for member in found.members
    }
    assert sum(area_shares(layouts).values()) == pytest.approx(1)
