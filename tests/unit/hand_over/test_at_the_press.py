"""What a press makes of our tickets: it prints the pieces where the layout has them, and trips over nothing else."""

from datetime import UTC, datetime

import pytest

from tests.unit.made import ESTIMATE, MARKED, ORDER, ROLL, with_all_marks
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import hotfolders_home
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.writing import Element
from ticketbridge.model.order import Item
from ticketbridge.press_sim.placements import pieces_after, print_order
from ticketbridge.press_sim.ticket import read_ticket
from ticketbridge.vocabulary.names import jdf

SHOP = load_shop(hotfolders_home() / "sample-shop").shop


def written(item: Item) -> Element:
    press = next(iter(SHOP.presses.values()))
    layout = with_all_marks(item)
    return write_ticket(
        LaneTicket(
            queue_entry_id="Q000001",
            order=ORDER,
            item=item,
            substrate=SHOP.substrates[item.substrate],
            print_mode=SHOP.print_modes[item.print_mode],
            press=press,
            lane=press.lanes[0],
            roll=ROLL,
            layout=layout,
            estimate=ESTIMATE,
            at=datetime(2026, 3, 2, tzinfo=UTC),
            agent_version="test",
            marks=marks_on(layout, item, ORDER.job_id, "Q000001"),
        )
    )


@pytest.mark.parametrize("what", MARKED)
def test_the_press_prints_every_piece_where_the_layout_has_it(what: str) -> None:
    item = MARKED[what]
    device_id = next(iter(SHOP.presses.values())).lanes[0].device_id
    ticket = read_ticket(written(item), device_id, (1, 7))
    printed = [
        (placed.box.left, placed.box.bottom, placed.box.width, placed.box.height)
        for placed in ticket.placements
    ]
    expected = [(p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in with_all_marks(item).placements]
    assert len(printed) == len(expected)
    for one, other in zip(printed, expected, strict=True):
        assert one == pytest.approx(other, abs=0.001)
    assert pieces_after(print_order(ticket.placements))[-1] == item.quantity


def test_artwork_begins_beyond_the_hem_and_tiles_of_panels_count_from_it() -> None:
    root = written(MARKED["panels"])
    boxes = [
        [round(float(word) * 25.4 / 72, 3) for word in leaf.get("ClipBox", "").split()]
        for leaf in root.iterfind(f".//{jdf('Tile')}/{jdf('Tile')}")
    ]
    assert boxes[0][:2] == [-30, -30]
    assert boxes[-1][2] == pytest.approx(4000 + 2 * 3 + 30)
    assert boxes[-1][3] == pytest.approx(2000 + 2 * 3 + 100)


def test_drops_of_a_half_drop_begin_at_alternate_phases_of_the_artwork() -> None:
    root = written(MARKED["a half drop"])
    phases = [
        round(float(leaf.get("ClipBox", "").split()[1]) * 25.4 / 72, 3)
        for leaf in root.iterfind(f".//{jdf('Tile')}/{jdf('Tile')}")
    ]
    assert phases[:4] == [0, 320, 0, 320]


def test_people_read_what_is_done_to_the_piece() -> None:
    text = written(MARKED["panels"]).findtext(jdf("Comment")) or ""
    assert "3 panels each, overlap 20 mm, one lot, one direction." in text
    assert "Hem 30 mm on all edges." in text
    assert "Pole pocket 80 mm flat at the top." in text
    assert "Eyelets on all edges, 25 mm from the edge, at most 500 mm apart." in text
    assert "Laminate: Cold, Front." in text
