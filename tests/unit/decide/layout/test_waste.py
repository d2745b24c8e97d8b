"""What becomes of the roll that is not sold."""

from collections.abc import Callable

import pytest

from tests.unit.made import MARKED, with_all_marks
from ticketbridge.decide.layout import RollMeasures, lay_out, lay_out_together
from ticketbridge.decide.layout.waste import waste_mm2_by_cause
from ticketbridge.model.layout import Layout, Run, WasteCause
from ticketbridge.model.order import Item, Panels

Make = Callable[..., Item]


def wasted(item: Item) -> dict[WasteCause, float]:
    layout = lay_out(item, 1580, 1600, 10, 500, 300)
    assert isinstance(layout, Layout)
    return {
        cause: round(area, 3) for cause, area in waste_mm2_by_cause([(layout, item)]).items() if round(area)
    }


def test_two_pieces_waste_the_ends_the_edges_and_what_is_between_them(make_item: Make) -> None:
    item = make_item(finished_width_mm=1000, finished_height_mm=500, quantity=2, may_rotate=False)
    assert wasted(item) == {
        WasteCause.ENDS: 800 * 1600,
        WasteCause.EDGES: 20 * 1010,
        WasteCause.BETWEEN: 580 * 1010 + 1000 * 10,
    }


def test_bleed_is_printed_and_not_sold(make_item: Make) -> None:
    item = make_item(finished_width_mm=1570, finished_height_mm=490, quantity=1, bleed_mm=5, may_rotate=False)
    assert wasted(item)[WasteCause.ALLOWANCES] == 1580 * 500 - 1570 * 490


def test_panels_are_printed_twice_where_they_overlap(make_item: Make) -> None:
    item = make_item(finished_width_mm=3000, finished_height_mm=2000, quantity=2, panels=Panels.WANTED)
    assert wasted(item)[WasteCause.OVERLAP] == 2 * 20 * 2000


def test_a_repeat_is_printed_on_beyond_the_height_of_each_drop_but_the_last(make_item: Make) -> None:
    pattern = {"match": "straight", "repeat_mm": 640, "strip_mm": 530}
    item = make_item(
        finished_width_mm=1060, finished_height_mm=2500, quantity=1, pattern=pattern, panel_overlap_mm=0
    )
    assert wasted(item)[WasteCause.MATCH] == 530 * 60


@pytest.mark.parametrize("what", MARKED)
def test_the_causes_together_are_all_that_is_not_sold(what: str) -> None:
    item, layout = MARKED[what], with_all_marks(MARKED[what])
    causes = waste_mm2_by_cause([(layout, item)])
    assert sum(causes.values()) == pytest.approx(layout.consumed_area_mm2 - layout.piece_area_mm2)
    assert min(causes.values()) >= 0


def test_what_lies_beside_each_other_in_a_run_is_wasted_by_none(make_item: Make) -> None:
    items = [
        make_item(finished_width_mm=1000, finished_height_mm=2000, quantity=1, may_rotate=False),
        make_item(finished_width_mm=500, finished_height_mm=600, quantity=3, may_rotate=False),
    ]
    run = lay_out_together(items, RollMeasures(1580, 1600, 10, 500, 300))
    assert isinstance(run, Run)
    causes = waste_mm2_by_cause(list(zip(run.parts, items, strict=True)))
    used_mm2 = run.consumed_length_mm * 1600
    assert sum(causes.values()) == pytest.approx(used_mm2 * run.whole.waste_percent / 100)
