"""The tests' own tickets are proper tickets."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.unit.press_sim.tickets import Job, Piece, row, ticket

JOBS = {
    "whole pieces": Job(),
    "turned pieces": Job(pieces=[Piece(0, 0, 300, 1000, rotated=True)]),
    "clip boxes": Job(clip_boxes=True, trim_sizes=False),
    "panels": Job(
        pieces=[Piece(0, 0, 700, 900, tile=0), Piece(710, 0, 700, 900, tile=1)], panel_widths_mm=[700, 700]
    ),
    "ink": Job(ink_l={"Cyan": 0.01, "White": 0.02}),
    "many": Job(pieces=row(40)),
}  # fmt: skip


@pytest.mark.parametrize("name", JOBS)
def test_the_tickets_of_these_tests_are_valid(
    name: str, tmp_path: Path, problems: Callable[[Path], list[str]]
) -> None:
    path = tmp_path / "ticket.jdf"
    path.write_bytes(ticket(JOBS[name]))
    assert problems(path) == []
