"""The picture of a layout."""

import re
from dataclasses import replace

import pytest
from lxml import etree

from tests.unit.made import ITEM, MARKED, with_all_marks
from ticketbridge.decide.layout import RollMeasures, lay_out_together
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.model.cut_list import Cut, Direction
from ticketbridge.model.layout import Layout, Run
from ticketbridge.model.marks import MarkKind
from ticketbridge.model.order import Item
from ticketbridge.report.roll_picture import Roll, roll_picture
from ticketbridge.report.svg import SVG_NAMESPACE

GREYS = {"white", "black", "none", "#e8e8e8", "url(#blank)", "url(#overlap)"}


def roll_of(what: str, title: str = "HL-1") -> Roll:
    item: Item = MARKED[what]
    layout: Layout = with_all_marks(item)
    return Roll(title, item, layout, marks_on(layout, item, "HL-1", "Q000012"), 10)


def drawn(*rolls: Roll) -> etree._Element:
    return etree.fromstring(roll_picture(rolls))


def all_of(picture: etree._Element, name: str) -> list[etree._Element]:
    return list(picture.iter(f"{{{SVG_NAMESPACE}}}{name}"))


def words(picture: etree._Element) -> list[str]:
    return [text.text or "" for text in all_of(picture, "text")]


@pytest.mark.parametrize("what", MARKED)
def test_every_piece_is_drawn_to_scale_in_its_place(what: str) -> None:
    roll = roll_of(what)
    pieces = [rect for rect in all_of(drawn(roll), "rect") if rect.get("fill") == "#e8e8e8"]
    sizes = [(float(rect.get("width", "")), float(rect.get("height", ""))) for rect in pieces]
    assert sizes == [
        (pytest.approx(placed.width_mm, abs=0.001), pytest.approx(placed.height_mm, abs=0.001))
        for placed in roll.layout.placements
    ]
    lefts = {
        float(rect.get("x", "")) - placed.x_mm
        for rect, placed in zip(pieces, roll.layout.placements, strict=True)
    }
    assert max(lefts) - min(lefts) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("what", MARKED)
def test_nothing_is_drawn_outside_the_picture_or_inside_out(what: str) -> None:
    picture = drawn(roll_of(what))
    width, height = (float(word) for word in picture.get("viewBox", "").split()[2:])
    for rect in all_of(picture, "rect"):
        x, y, w, h = (float(rect.get(name, "0")) for name in ("x", "y", "width", "height"))
        assert w >= 0
        assert h >= 0
        assert 0 <= x <= x + w <= width
        assert 0 <= y <= y + h <= height


def test_the_first_row_comes_out_first_at_the_bottom() -> None:
    pieces = [rect for rect in all_of(drawn(roll_of("panels")), "rect") if rect.get("fill") == "#e8e8e8"]
    tops = [float(rect.get("y", "")) for rect in pieces]
    assert tops == sorted(tops, reverse=True)


def test_panels_and_drops_are_numbered() -> None:
    said = words(drawn(roll_of("panels"), roll_of("a mural")))
    assert {f"panel {n} of 3" for n in (1, 2, 3)} <= set(said)
    assert {f"drop {n} of 3" for n in (1, 2, 3)} <= set(said)


def test_every_eyelet_and_every_bar_is_drawn() -> None:
    roll = roll_of("panels")
    picture = drawn(roll)
    eyelets = [mark for mark in roll.marks if mark.kind is MarkKind.EYELET]
    bars = sum(len(mark.bars[::2]) for mark in roll.marks)
    black = [rect for rect in all_of(picture, "rect") if rect.get("fill") == "black"]
    assert (len(all_of(picture, "circle")), len(black)) == (len(eyelets), bars)
    assert eyelets
    assert bars


def test_names_from_outside_stay_text() -> None:
    hostile = 'A "<script>alert(1)</script> & \x01\x1b[2J'
    data = roll_picture([roll_of("panels", hostile)])
    assert b"<script" not in data
    assert words(etree.fromstring(data)).count('A "<script>alert(1)</script> & [2J') == 1


def test_the_picture_reads_in_black_and_white() -> None:
    data = roll_picture([roll_of(what) for what in MARKED]).decode()
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', data)) <= GREYS


def test_a_roll_without_marks_and_without_leader_is_drawn_too() -> None:
    roll = roll_of("panels")
    bare = replace(roll, marks=(), layout=replace(roll.layout, leader_mm=0.0, trailer_mm=0.0))
    assert not [line for line in words(drawn(bare)) if "leader" in line]


def test_every_cut_is_a_dotted_line() -> None:
    roll = roll_of("turned pieces")
    cuts = [Cut(Direction.ACROSS, 600, 0, 1500), Cut(Direction.ALONG, 700, 0, 600)]
    plain = len(all_of(drawn(roll), "line"))
    lines = all_of(drawn(replace(roll, cuts=cuts)), "line")
    assert len(lines) == plain + 2
    assert len([line for line in lines if line.get("stroke-dasharray")]) == 2


def test_a_run_of_several_items_is_one_roll_with_all_their_pieces() -> None:
    items = [
        ITEM.model_copy(update={"finished_width_mm": 1000, "finished_height_mm": 2000, "quantity": 1}),
        ITEM.model_copy(update={"finished_width_mm": 500, "finished_height_mm": 600, "quantity": 3}),
    ]
    run = lay_out_together(items, RollMeasures(1580, 1600, 10, 500, 500))
    assert isinstance(run, Run)
    first, second = (
        Roll("Run 1", item, part, (), 10, label=label)
        for item, part, label in zip(items, run.parts, "AB", strict=True)
    )
    picture = drawn(replace(first, others=(second,)))
    assert len([rect for rect in all_of(picture, "rect") if rect.get("fill") == "#e8e8e8"]) == 4
    assert {"A 1", "B 1", "B 2", "B 3", "4 pieces of 2 items together"} <= set(words(picture))


def test_no_roll_is_no_picture() -> None:
    with pytest.raises(ValueError, match="at least one roll"):
        roll_picture([])
