"""From ticket to order: the tables, the defaults, the findings and the origins."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any

import pytest

from ticketbridge.decide.map_order import Mapped, map_order
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.finishing import Edge, Eyelets, Finishing, Hem, PolePocket
from ticketbridge.model.order import Artwork, Item, Order
from ticketbridge.model.origin import Origin, Whence
from ticketbridge.model.pattern import Drops, Match, Pattern
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack
from ticketbridge.model.ticket import Read, Ticket, TicketItem, Value

HEAD: dict[str, Value] = {"job_id": "J-1"}
BANNER: dict[str, Value] = {
    "finished_width_mm": 1000.0,
    "finished_height_mm": 500.0,
    "quantity": 10,
    "stock_brand": "Frontlit",
    "thickness_um": 500.0,
    "artwork_url": "file:///jobs/sail.pdf",
}


def said(values: Mapping[str, Value]) -> dict[str, Read]:
    return {name: Read(value, str(value), f"/JDF/{name}", 7) for name, value in values.items()}


def without(values: Mapping[str, Value], *names: str) -> dict[str, Value]:
    return {name: value for name, value in values.items() if name not in names}


def ticket(*items: Mapping[str, Value], head: Mapping[str, Value] = HEAD) -> Ticket:
    return Ticket(said(head), tuple(TicketItem(said(values)) for values in items))


def mapped(shop: Shop, *items: Mapping[str, Value], head: Mapping[str, Value] = HEAD) -> Mapped:
    result = map_order(ticket(*items, head=head), shop.mappings["main"], shop, "mis")
    for finding in result.findings:
        assert sentence(finding)
        assert remedy(finding)
    return result


def codes(result: Mapped) -> list[str]:
    return [finding.code for finding in result.findings]


def item_of(result: Mapped) -> Item:
    assert result.order is not None, codes(result)
    return result.order.items[0]


def test_a_plain_ticket_becomes_an_order(shop: Shop) -> None:
    result = mapped(shop, BANNER)
    assert result == Mapped(
        order=Order(
            job_id="J-1",
            source="mis",
            priority=50,
            items=(
                Item(
                    job_part_id="1",
                    finished_width_mm=1000,
                    finished_height_mm=500,
                    quantity=10,
                    substrate="banner-510",
                    print_mode="swift",
                    artwork=Artwork(url="file:///jobs/sail.pdf"),
                ),
            ),
        ),
        origins=result.origins,
        findings=(),
    )


def test_everything_the_order_can_hold_is_carried_over(shop: Shop) -> None:
    due = datetime(2026, 3, 5, 16, 0, tzinfo=UTC)
    customer = {
        "customer_id": "K-7",
        "customer_order_id": "PO 9",
        "customer_name": "Saltmarsh Sailing School",
    }
    head: dict[str, Value] = {**HEAD, "descriptive_name": "Regatta", "due": due, "priority": 80, **customer}
    extra: dict[str, Value] = {
        "job_part_id": "P-3",
        "descriptive_name": "Finish line",
        "bleed_mm": 5.0,
        "may_rotate": False,
        "panels": "forbidden",
        "artwork_mime_type": "application/pdf",
        "artwork_page": 2,
    }
    result = mapped(shop, {**BANNER, **extra}, head=head)
    order, item = result.order, item_of(result)
    assert order is not None
    assert (order.descriptive_name, order.due, order.priority) == ("Regatta", due, 80)
    assert {name: getattr(order, name) for name in customer} == customer
    assert (item.job_part_id, item.descriptive_name, item.bleed_mm) == ("P-3", "Finish line", 5)
    assert (item.may_rotate, item.panels) == (False, "forbidden")
    assert item.artwork == Artwork(url="file:///jobs/sail.pdf", mime_type="application/pdf", page=2)


def test_every_value_has_an_origin(shop: Shop) -> None:
    result = mapped(shop, BANNER)
    row = Origin(Whence.MAPPING, "substrates row 1", "Frontlit; 500.0", "/JDF/stock_brand", 7)
    assert result.origins["job_id"] == Origin(Whence.TICKET, None, "J-1", "/JDF/job_id", 7)
    assert result.origins["priority"] == Origin(Whence.MAPPING, "priority")
    assert result.origins["items[0].substrate"] == row
    assert result.origins["items[0].print_mode"] == Origin(Whence.MAPPING, "print_modes row 6")
    assert result.origins["items[0].bleed_mm"] == Origin(Whence.DEFAULT)
    assert result.origins["items[0].panel_overlap_mm"] == Origin(Whence.MAPPING, "panel_overlap_mm")
    assert result.origins["items[0].quantity"].raw == "10"


@pytest.mark.parametrize("name", ["finished_width_mm", "finished_height_mm", "quantity"])
def test_an_item_without_what_it_must_say_is_refused_by_name(shop: Shop, name: str) -> None:
    result = mapped(shop, without(BANNER, name))
    assert (result.order, codes(result)) == (None, ["mapping.value-missing"])
    assert result.findings[0].facts["field"] == name
    assert result.findings[0].place.path == f"items[0].{name}"


def test_a_ticket_without_a_job_id_is_refused_by_name(shop: Shop) -> None:
    result = mapped(shop, BANNER, head={})
    assert (result.order, codes(result)) == (None, ["mapping.value-missing"])
    assert result.findings[0].facts == {"field": "job_id", "where": "JDF@JobID of the root"}


def test_a_ticket_without_items_is_refused(shop: Shop) -> None:
    result = mapped(shop)
    assert (result.order, codes(result)) == (None, ["mapping.value-unfit"])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("finished_width_mm", -5.0),
        ("finished_width_mm", float("inf")),
        ("finished_height_mm", float("nan")),
        ("quantity", 2.5),
        ("quantity", 0),
        ("bleed_mm", -1.0),
        ("panels", "perhaps"),
        ("job_part_id", ""),
        ("job_part_id", "x" * 64),
    ],
)
def test_a_value_that_cannot_be_used_is_refused_where_it_stands(shop: Shop, name: str, value: Value) -> None:
    result = mapped(shop, {**BANNER, name: value})
    assert (result.order, codes(result)) == (None, ["mapping.value-unfit"])
    assert (result.findings[0].place.path, result.findings[0].place.line) == (f"/JDF/{name}", 7)
    assert result.findings[0].facts["said"] == str(value)


def test_a_page_that_counts_from_the_end_is_kept_so(shop: Shop) -> None:
    order = mapped(shop, {**BANNER, "artwork_page": -1}).order
    assert order is not None
    assert order.items[0].artwork is not None
    assert order.items[0].artwork.page == -1


def test_all_that_is_wrong_is_said_at_once(shop: Shop) -> None:
    result = mapped(
        shop, without(BANNER, "quantity"), {**BANNER, "stock_brand": "Unheard"}, head={"priority": 101}
    )
    assert codes(result) == ["mapping.value-missing", "mapping.value-missing", "mapping.substrate-unknown"]


def test_items_without_part_ids_are_numbered(shop: Shop) -> None:
    order = mapped(shop, BANNER, BANNER).order
    assert order is not None
    assert [item.job_part_id for item in order.items] == ["1", "2"]


def test_two_items_of_one_part_id_are_refused(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "job_part_id": "2"}, BANNER)
    assert (result.order, codes(result)) == (None, ["mapping.part-twice", "mapping.part-twice"])


@pytest.mark.parametrize("sides", ["TwoSidedHeadToHead", "TwoSidedHeadToFoot"])
def test_two_sides_are_refused(shop: Shop, sides: str) -> None:
    result = mapped(shop, {**BANNER, "sides": sides})
    assert (result.order, codes(result)) == (None, ["mapping.two-sided"])


def test_an_item_with_nothing_printed_is_refused(shop: Shop) -> None:
    assert codes(mapped(shop, {**BANNER, "sides": "Unprinted"})) == ["mapping.unprinted"]


def test_one_side_is_what_the_press_prints(shop: Shop) -> None:
    assert codes(mapped(shop, {**BANNER, "sides": "OneSided"})) == []


def test_a_due_time_without_an_offset_is_a_fault_of_whoever_read_it(shop: Shop) -> None:
    result = mapped(shop, BANNER, head={**HEAD, "due": datetime(2026, 3, 5, 16, 0)})
    assert (result.order, codes(result)) == (None, ["mapping.value-unfit"])


def test_a_due_time_that_is_none_is_refused(shop: Shop) -> None:
    result = mapped(shop, BANNER, head={**HEAD, "due": "next week"})
    assert (result.order, codes(result)) == (None, ["mapping.value-unfit"])


def test_an_item_without_artwork_is_mapped_all_the_same(shop: Shop) -> None:
    result = mapped(shop, without(BANNER, "artwork_url"))
    assert codes(result) == []
    assert item_of(result).artwork is None


# The substrate table


def substrate_of(result: Mapped) -> str:
    return item_of(result).substrate


def test_words_are_compared_without_regard_to_case(shop: Shop) -> None:
    assert substrate_of(mapped(shop, {**BANNER, "stock_brand": " fRONTlit "})) == "banner-510"


def test_every_condition_of_a_row_must_hold(shop: Shop) -> None:
    assert codes(mapped(shop, {**BANNER, "thickness_um": 300.0})) == ["mapping.substrate-unknown"]
    film = {**BANNER, "stock_brand": "Other", "media_type": "Transparency"}
    assert codes(mapped(shop, film)) == ["mapping.substrate-unknown"]


@pytest.mark.parametrize("wish", [450.0, 550.0])
def test_the_ends_of_a_row_s_range_belong_to_it(shop: Shop, wish: float) -> None:
    assert substrate_of(mapped(shop, {**BANNER, "thickness_um": wish})) == "banner-510"


def test_the_first_row_that_fits_wins(shop: Shop) -> None:
    assert substrate_of(mapped(shop, {**BANNER, "media_type_details": "Canvas"})) == "banner-510"


@pytest.mark.parametrize(
    ("low", "high", "fits"),
    [
        (400.0, 450.0, True),
        (520.0, None, True),
        (None, 460.0, True),
        (551.0, 700.0, False),
        (None, 449.0, False),
    ],
)
def test_where_only_a_range_is_given_the_two_must_overlap(
    shop: Shop, low: float | None, high: float | None, fits: bool
) -> None:
    ends = {"thickness_low_um": low, "thickness_high_um": high}
    banner = without(BANNER, "thickness_um") | {name: end for name, end in ends.items() if end is not None}
    assert ("mapping.substrate-unknown" in codes(mapped(shop, banner))) is not fits


def test_the_wish_decides_where_the_ticket_gives_both(shop: Shop) -> None:
    banner = {**BANNER, "thickness_um": 600.0, "thickness_low_um": 500.0, "thickness_high_um": 700.0}
    assert codes(mapped(shop, banner)) == ["mapping.substrate-unknown"]


@pytest.mark.parametrize("field", ["stock_brand", "stock_type"])
def test_a_stock_name_that_is_a_substrate_s_id_is_taken_directly(shop: Shop, field: str) -> None:
    result = mapped(shop, {**without(BANNER, "stock_brand"), field: "canvas-340"})
    assert substrate_of(result) == "canvas-340"
    assert result.origins["items[0].substrate"].whence is Whence.TICKET


def test_where_nothing_fits_the_nearest_row_is_named(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "thickness_um": 300.0})
    assert result.findings[0].facts == {
        "said": 'stock_brand "Frontlit", thickness_um "300.0"',
        "row": 1,
        "substrate": "banner-510",
        "missed": "thickness_um 450 to 550",
    }


def test_the_nearest_row_is_the_one_that_meets_most_conditions(shop: Shop) -> None:
    film = without(BANNER, "stock_brand", "thickness_um") | {"media_type": "Transparency"}
    facts = mapped(shop, film).findings[0].facts
    assert (facts["row"], facts["substrate"], facts["missed"]) == (3, "clear-film", 'opacity "Transparent"')


def test_a_ticket_that_says_nothing_about_the_substrate_is_told_so(shop: Shop) -> None:
    result = mapped(shop, without(BANNER, "stock_brand", "thickness_um"))
    assert codes(result) == ["mapping.substrate-unknown"]
    assert result.findings[0].facts["said"] == "nothing about the substrate"


def test_without_a_table_only_ids_are_understood(make_shop: Callable[..., Shop]) -> None:
    shop = make_shop({"mappings.main.substrates": []})
    assert codes(mapped(shop, BANNER)) == ["mapping.substrate-table-empty"]
    assert codes(mapped(shop, {**BANNER, "stock_brand": "banner-510"})) == []


def test_a_substrate_outside_the_accepted_range_is_taken_with_a_warning(shop: Shop) -> None:
    ends = {"thickness_low_um": 400.0, "thickness_high_um": 480.0, "weight_low_g_m2": 515.0}
    result = mapped(shop, {**BANNER, **ends})
    assert codes(result) == ["mapping.thickness-differs", "mapping.weight-differs"]
    assert substrate_of(result) == "banner-510"
    assert [finding.facts for finding in result.findings] == [
        {"substrate": "Banner 510", "actual": 500, "low": 400, "high": 480},
        {"substrate": "Banner 510", "actual": 510, "low": 515, "high": "any"},
    ]


def test_a_substrate_within_the_accepted_range_needs_no_word(shop: Shop) -> None:
    assert codes(mapped(shop, {**BANNER, "thickness_low_um": 500.0, "thickness_high_um": 500.0})) == []


# Layers and print mode


@pytest.mark.parametrize(
    ("words", "stack"),
    [
        ("Color", LayerStack.COLOUR),
        ("White Color", LayerStack.WHITE_COLOUR),
        ("Color White", LayerStack.COLOUR_WHITE),
        ("Color White Color", LayerStack.COLOUR_WHITE_COLOUR),
        (("Color", "Clear"), LayerStack.COLOUR_CLEAR),
    ],
)
def test_the_ticket_s_own_words_give_the_layers(shop: Shop, words: Value, stack: LayerStack) -> None:
    banner = {**BANNER, "layer_stack": words, "print_preference": "highestquality"}
    assert item_of(mapped(shop, banner)).layer_stack is stack


@pytest.mark.parametrize("words", ["White", "Color Gold", "", "Color Color"])
def test_layers_that_nobody_knows_are_refused(shop: Shop, words: str) -> None:
    result = mapped(shop, {**BANNER, "layer_stack": words})
    assert (result.order, codes(result)) == (None, ["mapping.layers-unknown"])
    assert "Color White Color" in str(result.findings[0].facts["known"])


def test_a_white_separation_means_the_stack_that_the_mapping_names(shop: Shop) -> None:
    banner = {**BANNER, "separations": ("Cyan", "white"), "print_preference": "HighestQuality"}
    result = mapped(shop, banner)
    assert item_of(result).layer_stack is LayerStack.WHITE_COLOUR
    assert result.origins["items[0].layer_stack"].entry == "layers.white"


def test_the_mapping_may_mean_second_surface_by_white(make_shop: Callable[..., Shop]) -> None:
    shop = make_shop({"mappings.main.layers": {"white": "colour, white"}})
    banner = {**BANNER, "separations": ("Cyan", "White"), "print_preference": "HighestQuality"}
    assert item_of(mapped(shop, banner)).layer_stack is LayerStack.COLOUR_WHITE


@pytest.mark.parametrize(
    ("field", "value", "entry"),
    [
        ("separations", ("Cyan", "Varnish"), "layers.clear_separations"),
        ("coatings", "Glossy", "layers.clear_coatings"),
        ("coatings", ("None", "uv"), "layers.clear_coatings"),
    ],
)
def test_clear_is_asked_for_by_separation_or_coating(
    shop: Shop, field: str, value: Value, entry: str
) -> None:
    result = mapped(shop, {**BANNER, field: value, "print_preference": "HighestQuality"})
    assert item_of(result).layer_stack is LayerStack.COLOUR_CLEAR
    assert result.origins["items[0].layer_stack"].entry == entry


def test_white_and_clear_together_are_refused(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "separations": ("White", "Cyan"), "coatings": "Glossy"})
    assert (result.order, codes(result)) == (None, ["mapping.layers-both"])


@pytest.mark.parametrize(
    ("values", "mode"),
    [
        ({}, "swift"),
        ({"print_preference": "HighestQuality"}, "fine"),
        ({"print_preference": "Fastest"}, "swift"),
        ({"separations": ("White",)}, "fine"),
        ({"stock_brand": "canvas-340"}, "fine"),
        ({"stock_brand": "mesh-270"}, "swift"),
    ],
)
def test_the_first_print_mode_row_that_fits_wins(shop: Shop, values: dict[str, Value], mode: str) -> None:
    assert item_of(mapped(shop, {**BANNER, **values})).print_mode == mode


def test_where_no_print_mode_row_fits_it_is_said_what_was_asked(make_shop: Callable[..., Shop]) -> None:
    shop = make_shop({"mappings.main.print_modes": [{"family": "textile", "print_mode": "fine"}]})
    result = mapped(shop, BANNER)
    assert (result.order, codes(result)) == (None, ["mapping.print-mode-unknown"])
    assert result.findings[0].facts == {
        "substrate": "Banner 510",
        "family": "banner",
        "preference": "none",
        "layers": "colour",
    }


def test_a_mode_that_the_substrate_does_not_allow_is_a_finding(shop: Shop) -> None:
    film = {**BANNER, "stock_brand": "clear-film"}
    result = mapped(shop, film)
    assert (result.order, codes(result)) == (None, ["mapping.print-mode-not-allowed"])
    assert result.findings[0].facts["allowed"] == "fine"


def test_a_mode_that_does_not_offer_the_layers_is_a_finding(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "coatings": "Glossy"})
    assert (result.order, codes(result)) == (None, ["mapping.layers-not-offered"])
    assert result.findings[0].facts["offered"] == "colour"


# Process tickets


def test_a_product_id_that_is_a_substrate_s_id_is_taken_directly(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "product_id": "canvas-340", "stock_brand": "banner-510"})
    assert item_of(result).substrate == "canvas-340"
    assert result.origins["items[0].substrate"] == Origin(
        Whence.TICKET, None, "canvas-340", "/JDF/product_id", 7
    )


def test_a_row_may_ask_for_the_stock_number_of_the_mis(make_shop: Callable[..., Shop]) -> None:
    table = [{"product_id": "4711", "substrate": "mesh-270"}]
    shop = make_shop({"mappings.main.substrates": table})
    result = mapped(shop, {**without(BANNER, "stock_brand"), "product_id": "4711"})
    assert item_of(result).substrate == "mesh-270"


def test_a_sheet_by_default_is_refused_unless_the_id_of_a_roll_is_named(shop: Shop) -> None:
    sheet: dict[str, Value] = {**BANNER, "media_unit": "Sheet"}
    assert codes(mapped(shop, sheet)) == ["mapping.no-roll"]
    assert codes(mapped(shop, {**sheet, "product_id": "banner-510"})) == []
    assert codes(mapped(shop, {**BANNER, "media_unit": "Roll"})) == []


@pytest.mark.parametrize(
    ("width_mm", "odd"), [(1600.0, False), (1594.0, False), (564.4, True), (1500.0, True)]
)
def test_a_roll_width_that_the_shop_does_not_buy_is_a_warning(shop: Shop, width_mm: float, odd: bool) -> None:
    result = mapped(shop, {**BANNER, "roll_width_mm": width_mm})
    assert codes(result) == ["mapping.roll-width-differs"] * odd
    assert result.order is not None


@pytest.mark.parametrize("name", ["fine", "Feature 9"])
def test_a_print_mode_that_the_ticket_names_wins_over_the_table(
    make_shop: Callable[..., Shop], name: str
) -> None:
    shop = make_shop({"print_modes.fine.named_feature": "Feature 9"})
    result = mapped(shop, {**BANNER, "print_mode_name": name})
    assert item_of(result).print_mode == "fine"
    assert result.origins["items[0].print_mode"] == Origin(
        Whence.TICKET, None, name, "/JDF/print_mode_name", 7
    )


def test_a_print_mode_name_that_nobody_knows_leaves_the_table_to_decide_with_a_warning(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "print_mode_name": "Unheard"})
    assert codes(result) == ["mapping.print-mode-name-unknown"]
    assert item_of(result).print_mode == "swift"


def test_a_named_mode_must_be_allowed_on_the_substrate_and_offer_the_layers(shop: Shop) -> None:
    mesh = {**BANNER, "product_id": "mesh-270", "print_mode_name": "fine"}
    result = mapped(shop, mesh)
    assert codes(result) == ["mapping.print-mode-not-allowed"]
    assert result.findings[0].place.path == "/JDF/print_mode_name"
    white = {**BANNER, "layer_stack": "White Color", "print_mode_name": "swift"}
    assert codes(mapped(shop, white)) == ["mapping.layers-not-offered"]


@pytest.mark.parametrize("mirror", ["MediaWidth", "FeedDirection", "Both"])
def test_a_mirrored_image_with_white_is_a_second_surface(shop: Shop, mirror: str) -> None:
    seen = {**BANNER, "mirror_around": mirror, "separations": ("Cyan", "White"), "print_mode_name": "fine"}
    assert item_of(mapped(shop, seen)).layer_stack is LayerStack.COLOUR_WHITE


def test_a_mirrored_image_of_layers_that_are_not_mirrored_is_refused(shop: Shop) -> None:
    assert codes(mapped(shop, {**BANNER, "mirror_around": "MediaWidth"})) == ["mapping.mirror-not-served"]
    assert codes(mapped(shop, {**BANNER, "mirror_around": "None"})) == []


def test_the_overlap_that_a_ticket_asks_for_counts(shop: Shop) -> None:
    assert item_of(mapped(shop, {**BANNER, "panel_overlap_mm": 35.0})).panel_overlap_mm == 35


def test_an_origin_speaks_in_one_line_and_survives_the_store() -> None:
    origin = Origin(Whence.MAPPING, "substrates row 1", "Frontlit", "/JDF/A", 7)
    assert str(origin) == 'mapping substrates row 1, from "Frontlit" at /JDF/A, line 7'
    assert str(Origin(Whence.DEFAULT)) == "default"
    plain: dict[str, Any] = origin.as_json()
    assert Origin.from_json(plain) == origin


# Finishing and patterns

USUAL = {
    "mappings.main.finishing": [
        {"substrate": "canvas-340", "finishing": {"hem": {"width_mm": 50}}},
        {
            "family": "banner",
            "finishing": {"hem": {"width_mm": 30}, "eyelets": {"inset_mm": 20, "spacing_mm": 400}},
        },
    ],
}
WALL = {"substrates.banner-510.family": "wallcovering"}


def test_a_ticket_that_says_nothing_gets_the_finishing_that_is_usual(make_shop: Callable[..., Shop]) -> None:
    result = mapped(make_shop(USUAL), BANNER)
    assert item_of(result).finishing == Finishing(
        hem=Hem(width_mm=30), eyelets=Eyelets(inset_mm=20, spacing_mm=400)
    )
    assert result.origins["items[0].finishing"] == Origin(Whence.MAPPING, "finishing row 2")


def test_what_a_ticket_says_of_finishing_takes_the_place_of_the_usual(make_shop: Callable[..., Shop]) -> None:
    wishes: dict[str, Value] = {
        "hem": ("25", "top", "bottom"),
        "pole_pocket": ("80", "top"),
        "eyelets": ("25 25", "975 25"),
        "laminate": "Cold, Front",
        "contour_cut": True,
    }
    item = item_of(mapped(make_shop(USUAL), {**BANNER, **wishes}))
    assert item.finishing == Finishing(
        hem=Hem(width_mm=25, edges=(Edge.TOP, Edge.BOTTOM)),
        pole_pocket=PolePocket(flat_mm=80, edges=(Edge.TOP,)),
        eyelets=Eyelets(inset_mm=20, spacing_mm=400, at_mm=((25, 25), (975, 25))),
        laminate="Cold, Front",
        contour_cut=True,
    )


def test_a_ticket_may_say_how_far_apart_eyelets_are(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "eyelet_spacing_mm": 300.0})
    assert item_of(result).finishing.eyelets == Eyelets(spacing_mm=300)
    assert result.origins["items[0].finishing"].whence is Whence.TICKET


def test_an_eyelet_off_the_piece_is_refused(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "eyelets": ("25 25", "1025 25")})
    assert codes(result) == ["mapping.value-unfit"]
    assert "lies off the piece" in sentence(result.findings[0])


def test_a_wallcovering_is_a_mural_unless_somebody_says_otherwise(make_shop: Callable[..., Shop]) -> None:
    assert item_of(mapped(make_shop(WALL), BANNER)).pattern == Pattern()


def test_the_mapping_says_how_wide_a_drop_is(make_shop: Callable[..., Shop]) -> None:
    rows = {"mappings.main.finishing": [{"family": "wallcovering", "pattern": {"strip_mm": 1000}}]}
    result = mapped(make_shop({**WALL, **rows}), BANNER)
    assert item_of(result).pattern == Pattern(strip_mm=1000)
    assert result.origins["items[0].pattern"] == Origin(Whence.MAPPING, "finishing row 1")


@pytest.mark.parametrize(
    ("said_of_pattern", "pattern"),
    [
        ({"pattern_repeat_mm": 640.0}, Pattern(match=Match.STRAIGHT, repeat_mm=640)),
        (
            {"pattern_repeat_mm": 640.0, "pattern_match": "half-drop"},
            Pattern(match=Match.HALF_DROP, repeat_mm=640),
        ),
        ({"pattern_match": "none"}, Pattern()),
        (
            {"pattern_repeat_mm": 640.0, "pattern_drops": "numbered"},
            Pattern(match=Match.STRAIGHT, repeat_mm=640, drops=Drops.NUMBERED),
        ),
    ],
)
def test_a_ticket_may_say_how_its_pattern_repeats(
    make_shop: Callable[..., Shop], said_of_pattern: dict[str, Value], pattern: Pattern
) -> None:
    item = item_of(mapped(make_shop(WALL), {**BANNER, **said_of_pattern}))
    assert item.pattern == pattern


def test_a_ticket_may_say_where_no_seam_may_be(shop: Shop) -> None:
    item = item_of(mapped(shop, {**BANNER, "keep_seams_from": ("400 700", "900 950.5")}))
    assert item.keep_seams_from_mm == ((400, 700), (900, 950.5))


def test_a_zone_without_seams_that_runs_backwards_is_refused(shop: Shop) -> None:
    result = mapped(shop, {**BANNER, "keep_seams_from": ("700 400",)})
    assert codes(result) == ["mapping.value-unfit"]


def test_a_match_without_a_repeat_is_refused(make_shop: Callable[..., Shop]) -> None:
    result = mapped(make_shop(WALL), {**BANNER, "pattern_match": "straight"})
    assert codes(result) == ["mapping.value-unfit"]


def test_an_order_without_finishing_is_the_same_order_as_before_there_was_any(shop: Shop) -> None:
    """The identity of known orders must not change with what the program learns."""
    order = mapped(shop, BANNER).order
    assert order is not None
    plain = order.model_dump(mode="json", exclude_defaults=True)["items"][0]
    assert not {"finishing", "pattern"} & set(plain)
