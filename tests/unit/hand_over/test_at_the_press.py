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
from ticketbridge.model.marks import MarkKind
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


def test_the_artwork_of_a_turned_piece_begins_beyond_its_hem() -> None:
    """Hem 30 mm at the left, which lies along the feed when turned, and at the bottom, which lies at the right."""
    item = MARKED["turned pieces"]
    placed = with_all_marks(item).placements[0]
    matrix = written(item).find(f".//{jdf('ContentObject')}").get("CTM", "").split()  # type: ignore[union-attr]
    assert placed.rotated
    assert matrix[:4] == ["0", "1", "-1", "0"]
    assert [float(word) * 25.4 / 72 for word in matrix[4:]] == pytest.approx(
        [placed.x_mm + placed.width_mm - 30, placed.y_mm + 30], abs=0.001
    )


def test_artwork_begins_beyond_the_hem_and_tiles_of_panels_count_from_it() -> None:
    root = written(MARKED["panels"])
    boxes = [
        [round(float(word) * 25.4 / 72, 3) for word in leaf.get("ClipBox", "").split()]
        for leaf in root.iterfind(f".//{jdf('Tile')}/{jdf('Tile')}")
    ]
    assert boxes[0][:2] == [-30, -30]
    assert boxes[-1][2] == pytest.approx(4000 + 2 * 3 + 30)
    assert boxes[-1][3] == pytest.approx(2000 + 2 * 3 + 100)


@pytest.mark.parametrize("what", ["a half drop", "numbered drops of a repeat"])
def test_drops_of_a_half_drop_begin_at_alternate_phases_of_the_artwork(what: str) -> None:
    root = written(MARKED[what])
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


def test_every_mark_is_in_the_ticket_at_its_place() -> None:
    item = MARKED["panels"]
    layout = with_all_marks(item)
    root, marks = written(item), marks_on(layout, item, ORDER.job_id, "Q000001")

    def points(name: str, attribute: str) -> list[list[float]]:
        found = [element.get(attribute, "").split() for element in root.iter(jdf(name))]
        return [[round(float(word) * 25.4 / 72, 3) for word in words] for words in found]

    for kind, name, attribute in (
        (MarkKind.CUT, "CutMark", "Position"),
        (MarkKind.EYELET, "RegisterMark", "Center"),
    ):
        expected = [[round(length, 3) for length in mark.at_mm] for mark in marks if mark.kind is kind]
        assert points(name, attribute) == expected
        assert expected
    slugs = [(field.get("UserText"), field.getnext().get("Value")) for field in root.iter(jdf("JobField"))]
    assert slugs[0] == ("HL-1  Q000001  piece 1 of 2, panel 1 of 3", "Q000001-1-1")
    assert len(slugs) == 6
