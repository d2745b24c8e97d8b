"""A process ticket that goes back to the MIS, with the press's node in it, is valid by the official schema."""

from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid
from tests.outside.test_written_tickets import lane_ticket
from tests.unit.jdf.tickets import GOLDEN_PROCESS, GOLDEN_PROCESS_TICKETS
from tests.unit.made import NOW
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.report.return_ticket import returned_ticket


@pytest.mark.parametrize("name", GOLDEN_PROCESS_TICKETS)
def test_a_process_ticket_goes_back_valid(shared: Path, tmp_path: Path, name: str) -> None:
    original = etree.fromstring((GOLDEN_PROCESS / name).read_bytes())
    data = returned_ticket(
        original,
        write_ticket(lane_ticket("1.7")),
        job_part_id="1",
        queue_entry_id="Q000001",
        amount=3,
        completed=True,
        at=NOW,
        agent_version="0.1",
    )
    path = tmp_path / "returned.jdf"
    path.write_bytes(data)
    assert invalid(shared, path) == []
