"""Which roll a lane is judged with."""

from collections.abc import Callable

from ticketbridge.decide.layout import LayoutProblem
from ticketbridge.decide.roll_choice import RollAt, RollChoice, choose_roll
from ticketbridge.model.order import Item
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import Roll

MakeItem = Callable[..., Item]


def banner(lot: str, *, width_mm: float = 1600, length_left_m: float = 50) -> Roll:
    return Roll(substrate="banner-510", lot=lot, width_mm=width_mm, length_left_m=length_left_m)


def shelf(*rolls: Roll) -> list[RollAt]:
    return [RollAt(roll, None) for roll in rolls]


def chosen(
    shop: Shop, item: Item, loaded: Roll | None, available: list[RollAt], lane: str = "left"
) -> RollChoice:
    by_id = {one.id: one for one in shop.presses["tern"].lanes}
    return choose_roll(item, shop.substrates[item.substrate], by_id[lane], loaded, available)


def lot_of(choice: RollChoice) -> str | None:
    return choice.roll.roll.lot if choice.roll else None


def test_the_loaded_roll_is_taken_even_where_another_would_waste_less(
    shop: Shop, make_item: MakeItem
) -> None:
    item = make_item(finished_width_mm=1080, may_rotate=False)
    choice = chosen(shop, item, banner("here"), shelf(banner("narrow", width_mm=1100)))
    assert lot_of(choice) == "here"


def test_a_loaded_roll_that_is_too_short_gives_way(shop: Shop, make_item: MakeItem) -> None:
    choice = chosen(shop, make_item(), banner("here", length_left_m=2), shelf(banner("long")))
    assert lot_of(choice) == "long"


def test_a_loaded_roll_of_another_substrate_gives_way(shop: Shop, make_item: MakeItem) -> None:
    canvas = Roll(substrate="canvas-340", lot="here", width_mm=1600, length_left_m=50)
    assert lot_of(chosen(shop, make_item(), canvas, shelf(banner("shelf")))) == "shelf"


def test_the_roll_with_less_waste_is_taken(shop: Shop, make_item: MakeItem) -> None:
    item = make_item(finished_width_mm=1080, may_rotate=False)
    choice = chosen(shop, item, None, shelf(banner("wide"), banner("narrow", width_mm=1100)))
    assert lot_of(choice) == "narrow"


def test_the_widest_roll_is_taken_where_it_wastes_no_more(
    make_shop: Callable[..., Shop], make_item: MakeItem
) -> None:
    no_gaps = {f"presses.tern.lanes.0.{name}_mm": 0 for name in ("gap", "leader", "trailer")}
    item = make_item(finished_width_mm=700, finished_height_mm=2000, may_rotate=False)
    rolls = shelf(banner("narrow", width_mm=720), banner("wide", width_mm=1440))
    # One across over 20 m of 720 mm, or two across over 10 m of 1440 mm.
    assert lot_of(chosen(make_shop(no_gaps), item, None, rolls)) == "wide"


def test_among_equal_rolls_the_shortest_remnant_is_used_up_first(shop: Shop, make_item: MakeItem) -> None:
    rolls = shelf(banner("full"), banner("remnant", length_left_m=8), banner("stub", length_left_m=3))
    assert lot_of(chosen(shop, make_item(), None, rolls)) == "remnant"


def test_a_roll_from_the_shelf_goes_before_one_from_another_lane(shop: Shop, make_item: MakeItem) -> None:
    rolls = [RollAt(banner("there", length_left_m=8), "tern-right"), *shelf(banner("shelf"))]
    assert lot_of(chosen(shop, make_item(), None, rolls)) == "shelf"
    assert lot_of(chosen(shop, make_item(), None, rolls[:1])) == "there"


def test_where_no_roll_is_long_enough_the_longest_is_named(shop: Shop, make_item: MakeItem) -> None:
    rolls = shelf(banner("short", length_left_m=2), banner("longer", length_left_m=4))
    assert lot_of(chosen(shop, make_item(), banner("here", length_left_m=3), rolls)) == "longer"


def test_rolls_wider_than_the_lane_are_passed_over(shop: Shop, make_item: MakeItem) -> None:
    rolls = shelf(banner("too wide", width_mm=3200))
    assert lot_of(chosen(shop, make_item(), None, rolls)) is None
    assert lot_of(chosen(shop, make_item(), None, rolls, lane="wide")) == "too wide"


def test_rolls_that_the_item_does_not_fit_are_passed_over(shop: Shop, make_item: MakeItem) -> None:
    item = make_item(finished_width_mm=1500, finished_height_mm=1500, panels="forbidden")
    rolls = shelf(banner("narrow", width_mm=1100), banner("wide"))
    assert lot_of(chosen(shop, item, None, rolls)) == "wide"


def test_without_a_roll_the_width_that_is_bought_is_used(shop: Shop, make_item: MakeItem) -> None:
    choice = chosen(shop, make_item(finished_width_mm=1080, may_rotate=False), None, [])
    assert (choice.roll, choice.width_mm) == (None, 1100)


def test_a_piece_too_wide_for_all_is_a_problem_on_the_widest(shop: Shop, make_item: MakeItem) -> None:
    item = make_item(finished_width_mm=5000, finished_height_mm=2000, panels="forbidden")
    choice = chosen(shop, item, None, shelf(banner("narrow", width_mm=1100)))
    assert isinstance(choice.arrangement, LayoutProblem)
    assert (choice.arrangement.code, choice.arrangement.facts["usable_mm"]) == ("lanes.too-wide", 1580)


def test_a_lane_narrower_than_all_that_is_bought_is_a_problem_of_its_own(
    make_shop: Callable[..., Shop], make_item: MakeItem
) -> None:
    shop = make_shop({"substrates.banner-510.widths_mm": [3200]})
    choice = chosen(shop, make_item(), None, [])
    assert choice.arrangement == LayoutProblem(
        "lanes.no-width-for-lane", {"substrate": "Banner 510", "narrowest_mm": 3200, "lane_mm": 1620}
    )
