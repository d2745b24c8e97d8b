"""Every lane judged, and the choice among them."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from ticketbridge.decide.layout import LayoutProblem
from ticketbridge.decide.roll_choice import RollAt
from ticketbridge.decide.route import Judged, choose, judge_lanes
from ticketbridge.model.lane_state import LaneState, RunningWork
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Order, Panels
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import Flaw, LayerStack, Roll
from ticketbridge.model.verdict import Answer

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
MakeShop = Callable[..., Shop]
MakeItem = Callable[..., Item]
MakeOrder = Callable[..., Order]
WORK = RunningWork("swift", LayerStack.COLOUR, "banner-510")


def banner(lot: str, *, width_mm: float = 1600, length_left_m: float = 50) -> Roll:
    return Roll(substrate="banner-510", lot=lot, width_mm=width_mm, length_left_m=length_left_m)


def judged(
    shop: Shop,
    order: Order,
    states: Mapping[str, LaneState] | None = None,
    crew: frozenset[str] | None = None,
) -> dict[str, Judged]:
    lanes = judge_lanes(order.items[0], order, shop, states or {}, NOON, crew)
    return {one.lane.device_id: one for one in lanes}


def answers(lanes: Mapping[str, Judged]) -> dict[str, Answer]:
    return {device_id: one.verdict.answer for device_id, one in lanes.items()}


def choice(lanes: Mapping[str, Judged]) -> str | None:
    best = choose(list(lanes.values()))
    return best.lane.device_id if best else None


def codes(one: Judged) -> list[str]:
    return [verdict.code for verdict in one.verdict.reasons]


def test_every_lane_is_judged_and_the_loaded_one_is_chosen(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    lanes = judged(shop, make_order(make_item()))
    assert answers(lanes) == {
        "tern-left": Answer.CAN,
        "tern-right": Answer.AFTER_CHANGE,
        "tern-wide": Answer.AFTER_CHANGE,
    }
    assert choice(lanes) == "tern-left"


def test_a_judged_lane_has_its_roll_layout_and_estimate(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    left = judged(shop, make_order(make_item()))["tern-left"]
    assert left.roll is not None
    assert (left.roll.roll.lot, left.roll.device_id) == ("B-17", "tern-left")
    assert isinstance(left.layout, Layout)
    assert left.estimate is not None
    assert left.estimate.roll_length_mm == left.layout.consumed_length_mm
    assert left.finish_minutes == left.estimate.print_s / 60


def test_a_lane_without_the_roll_is_judged_on_the_best_from_the_shelf(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    right = judged(shop, make_order(make_item()))["tern-right"]
    assert right.roll == RollAt(shop.stock[0], None)
    assert codes(right) == ["lanes.roll-load"]
    assert right.verdict.minutes == 10


def test_the_store_s_account_of_a_roll_counts_and_not_the_configured_one(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    lanes = judged(shop, make_order(make_item()), {"tern-left": LaneState()})
    assert codes(lanes["tern-left"]) == ["lanes.roll-load"]


def test_a_roll_on_an_idle_lane_can_be_moved_and_one_on_a_busy_lane_cannot(
    make_shop: MakeShop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    shop, order = make_shop({"stock": []}), make_order(make_item())
    right = judged(shop, order)["tern-right"]
    assert right.roll is not None
    assert right.roll.device_id == "tern-left"
    busy = LaneState(roll=banner("B-17"), running=WORK, given=1)
    assert codes(judged(shop, order, {"tern-left": busy})["tern-right"]) == ["lanes.roll-missing"]


def test_without_any_roll_a_job_waits_but_is_not_refused(
    make_shop: MakeShop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    shop = make_shop({"stock": [], "presses.tern.lanes.0.roll": None})
    lanes = judged(shop, make_order(make_item()))
    assert set(answers(lanes).values()) == {Answer.NOT_UNTIL}
    assert codes(lanes["tern-left"]) == ["lanes.roll-missing"]
    assert choice(lanes) is not None


def test_only_never_on_every_lane_refuses_a_job(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    lanes = judged(shop, make_order(make_item(substrate="board-5")))
    assert set(answers(lanes).values()) == {Answer.NEVER}
    assert choice(lanes) is None


def test_a_job_that_one_lane_can_never_print_goes_to_another(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    item = make_item(finished_width_mm=2500, finished_height_mm=2000, panels="forbidden", quantity=1)
    lanes = judged(shop, make_order(item))
    assert answers(lanes)["tern-left"] is Answer.NEVER
    assert isinstance(lanes["tern-left"].layout, LayoutProblem)
    assert lanes["tern-left"].estimate is None
    assert choice(lanes) == "tern-wide"


def test_an_unknown_substrate_waits_for_the_catalogue_on_every_lane(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    lanes = judged(shop, make_order(make_item(substrate="new-film")))
    assert set(answers(lanes).values()) == {Answer.NOT_UNTIL}
    assert codes(lanes["tern-left"])[0] == "lanes.substrate-unknown"


def test_fewer_minutes_of_change_win_over_an_earlier_finish(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    canvas = Roll(substrate="canvas-340", lot="C-9", width_mm=1600, length_left_m=50)
    states = {
        "tern-left": LaneState(minutes_ahead=100),
        "tern-right": LaneState(roll=canvas, minutes_ahead=200),
        "tern-wide": LaneState(),
    }
    lanes = judged(shop, make_order(make_item()), states)
    assert {name: one.verdict.minutes for name, one in lanes.items()} == {
        "tern-left": 10,
        "tern-right": 10,
        "tern-wide": 20,
    }
    assert lanes["tern-wide"].finish_minutes < lanes["tern-left"].finish_minutes
    assert choice(lanes) == "tern-left"


def test_both_narrow_rolls_must_come_off_before_a_wide_one_goes_on(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    states = {f"tern-{side}": LaneState(roll=banner(side)) for side in ("left", "right")}
    wide = judged(shop, make_order(make_item()), states)["tern-wide"]
    assert sorted(codes(wide)) == ["lanes.beside-roll-off", "lanes.roll-load"]
    assert wide.verdict.minutes == 30


def test_a_change_of_mode_is_less_than_a_change_of_roll(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    order = make_order(make_item())
    other_mode = RunningWork("fine", LayerStack.COLOUR, "banner-510")
    states = {
        "tern-left": LaneState(roll=banner("B-17"), running=other_mode, minutes_ahead=5),
        "tern-wide": LaneState(),
    }
    lanes = judged(shop, order, states)
    assert lanes["tern-left"].verdict.minutes == 4
    assert choice(lanes) == "tern-left"


def test_the_earliest_finish_wins_among_equal_changes(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    busy, free = (
        LaneState(roll=banner(lot), minutes_ahead=ahead) for lot, ahead in (("1", 30.0), ("2", 0.0))
    )
    lanes = judged(shop, make_order(make_item()), {"tern-left": busy, "tern-right": free})
    assert answers(lanes)["tern-left"] is answers(lanes)["tern-right"] is Answer.CAN
    assert choice(lanes) == "tern-right"


def test_less_waste_wins_among_equal_finishes(
    make_shop: MakeShop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    shop = make_shop({"presses.tern.carriage_span": "beam"})
    states = {
        "tern-left": LaneState(roll=banner("wide")),
        "tern-right": LaneState(roll=banner("narrow", width_mm=1100)),
    }
    lanes = judged(shop, make_order(make_item(finished_width_mm=1080, may_rotate=False)), states)
    assert choice(lanes) == "tern-right"


def test_the_device_id_decides_at_last(shop: Shop, make_item: MakeItem, make_order: MakeOrder) -> None:
    states = {f"tern-{side}": LaneState(roll=banner(side)) for side in ("left", "right")}
    assert choice(judged(shop, make_order(make_item()), states)) == "tern-left"


def test_a_late_lane_goes_before_one_that_is_late_and_lacks_the_roll(
    make_shop: MakeShop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    shop = make_shop({"stock": []})
    order = make_order(make_item(), due=NOON - timedelta(hours=1))
    states = {"tern-left": LaneState(roll=banner("B-17"), running=WORK, minutes_ahead=90, given=1)}
    lanes = judged(shop, order, states)
    assert set(answers(lanes).values()) == {Answer.NOT_UNTIL}
    assert choice(lanes) == "tern-left"


def test_a_lane_that_makes_its_time_after_a_change_goes_before_one_that_is_late(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    order = make_order(make_item(), due=NOON + timedelta(hours=1))
    states = {"tern-left": LaneState(roll=banner("B-17"), minutes_ahead=90)}
    lanes = judged(shop, order, states)
    assert answers(lanes)["tern-left"] is Answer.NOT_UNTIL
    assert choice(lanes) == "tern-right"


def test_what_runs_on_the_lane_beside_binds(shop: Shop, make_item: MakeItem, make_order: MakeOrder) -> None:
    order = make_order(make_item(print_mode="fine"))
    states = {"tern-right": LaneState(roll=banner("R"), running=WORK, given=1)}
    left = judged(shop, order, states)["tern-left"]
    assert codes(left) == ["lanes.beside-mode"]


def test_a_heavy_roll_to_be_loaded_gets_a_caution(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    lanes = judged(shop, make_order(make_item()))
    assert [finding.code for finding in lanes["tern-right"].cautions] == ["lanes.roll-heavy"]
    assert lanes["tern-left"].cautions == ()


def test_the_crew_on_shift_is_looked_up_by_press(
    make_shop: MakeShop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    def crew_code(shop: Shop, crew: frozenset[str] | None) -> str:
        left = judged(shop, make_order(make_item()), crew=crew)["tern-left"]
        return next(verdict.code for verdict in left.verdict.verdicts if verdict.rule == "crew")

    shop = make_shop()
    assert crew_code(shop, frozenset({"Jonah", "Pim"})) == "lanes.crew-ok"
    assert crew_code(shop, frozenset({"Pim"})) == "lanes.crew-absent"
    assert crew_code(shop, None) == "lanes.crew-unknown"
    assert crew_code(make_shop({"presses.tern.crew": []}), frozenset({"Pim"})) == "lanes.crew-unknown"


def test_the_same_question_has_the_same_answer(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    arguments: Any = (shop, make_order(make_item(), due=NOON + timedelta(hours=2)))
    assert judged(*arguments) == judged(*arguments)


def test_nothing_to_choose_from_is_no_choice() -> None:
    assert choose([]) is None


def test_a_lane_that_prints_a_piece_whole_comes_before_one_that_needs_panels(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    item = make_item(finished_width_mm=2800, finished_height_mm=2000, panels=Panels.ALLOWED)
    busy = LaneState(roll=banner("B-9", width_mm=3200), minutes_ahead=600)
    lanes = judged(shop, make_order(item, due=None), {"tern-wide": busy})

    narrow, wide = lanes["tern-left"], lanes["tern-wide"]
    assert isinstance(narrow.layout, Layout)
    assert isinstance(wide.layout, Layout)
    assert (len(narrow.layout.panels), len(wide.layout.panels)) == (2, 0)
    assert narrow.finish_minutes < wide.finish_minutes
    assert choice(lanes) == "tern-wide"


def test_panels_are_printed_where_no_roll_in_the_shop_is_wide_enough(
    make_shop: MakeShop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    item = make_item(finished_width_mm=2800, finished_height_mm=2000, panels=Panels.ALLOWED)
    lanes = judged(make_shop({"stock": []}), make_order(item))

    assert choice(lanes) == "tern-left"


def test_the_shelf_that_is_handed_in_counts_and_not_the_configured_one(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    order, received = make_order(make_item()), banner("B-99")
    found = judge_lanes(order.items[0], order, shop, {}, NOON, None, [received])

    right = {one.lane.device_id: one for one in found}["tern-right"]
    assert right.roll == RollAt(received, None)


def test_a_roll_with_a_flaw_in_the_way_is_used_up_farther_and_the_estimate_knows(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    order = make_order(make_item())
    faultless = judged(shop, order, {"tern-left": LaneState(roll=banner("B-17"))})["tern-left"]
    flawed_roll = banner("B-17").model_copy(update={"flaws": (Flaw(at_mm=500, length_mm=300),)})
    flawed = judged(shop, order, {"tern-left": LaneState(roll=flawed_roll)})["tern-left"]

    assert isinstance(faultless.layout, Layout)
    assert isinstance(flawed.layout, Layout)
    assert flawed.estimate is not None
    # Print begins 500 mm behind the outer end; the flaw takes 300 mm of it, and 10 mm keep clear of it.
    assert flawed.layout.length_mm == pytest.approx(faultless.layout.length_mm + 310)
    assert flawed.estimate.waste_percent > faultless.layout.waste_percent


def test_a_roll_too_short_only_because_of_its_flaws_makes_way_for_another(
    shop: Shop, make_item: MakeItem, make_order: MakeOrder
) -> None:
    order = make_order(make_item())
    needed_m = judged(shop, order)["tern-left"].layout.consumed_length_mm / 1000
    just = {"length_left_m": needed_m + 0.1}
    enough = banner("B-17").model_copy(update=just)
    flawed = enough.model_copy(update={"flaws": (Flaw(at_mm=500, length_mm=300),)})

    with_enough = judged(shop, order, {"tern-left": LaneState(roll=enough)})["tern-left"]
    with_flawed = judged(shop, order, {"tern-left": LaneState(roll=flawed)})["tern-left"]

    assert with_enough.roll == RollAt(enough, "tern-left")
    assert with_flawed.roll == RollAt(shop.stock[0], None)
