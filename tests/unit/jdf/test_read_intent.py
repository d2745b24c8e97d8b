"""Reading product intent: which words count where several say the same, and what is asked for."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.jdf.tickets import MESSAGE, NAMESPACE, ORDER, changed, codes, root_of
from ticketbridge.jdf.read_intent import is_product_intent, item_nodes
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.resources import Resources
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.finding import Finding
from ticketbridge.model.ticket import Ticket


def read(document: str) -> tuple[Ticket, list[Finding]]:
    ticket, findings = read_ticket(root_of(document), "t.jdf")
    for finding in findings:
        assert sentence(finding)
        assert remedy(finding)
    return ticket, findings


def value(document: str, name: str) -> object:
    ticket, findings = read(document)
    assert findings == []
    values = {**ticket.values, **ticket.items[0].values}
    return values[name].value if name in values else None


def with_thickness(attributes: str) -> str:
    return changed(ORDER, ('Preferred="500"', attributes))


def with_resource(resource: str, link: str = "") -> str:
    return changed(
        ORDER,
        ("<ResourcePool>", f"<ResourcePool>{resource}"),
        ("<ResourceLinkPool>", f"<ResourceLinkPool>{link}"),
    )


# Spans


@pytest.mark.parametrize(
    ("attributes", "thickness"),
    [
        ('Actual="1000" Preferred="2000" Range="3000 ~ 4000"', 1000),
        ('Preferred="2000" Range="3000 ~ 4000"', 2000),
        ('Range="3000 ~ 4000"', 3500),
        ('Range="3000"', 3000),
        ('Range="3000 ~ INF"', 3000),
        ('Range="-INF ~ 3000"', 3000),
        ('Range="3000 ~ 4000 5000 ~ 6000"', 3500),
        ('Preferred=" 5.0E2 "', 500),
    ],
)
def test_what_was_agreed_counts_then_the_wish_then_the_range(attributes: str, thickness: float) -> None:
    assert value(with_thickness(attributes), "thickness_um") == thickness


def test_an_open_end_of_a_range_is_no_bound() -> None:
    document = with_thickness('Preferred="500" Range="450 ~ INF"')
    assert value(document, "thickness_low_um") == 450
    assert value(document, "thickness_high_um") is None


def test_a_span_that_says_nothing_is_no_value() -> None:
    assert value(with_thickness(""), "thickness_um") is None


@pytest.mark.parametrize("broken", ["~ 5", "450 ~", "450 ~ ~", "~", "INF ~ INF", "-INF ~ INF"])
def test_a_range_without_sense_is_refused(broken: str) -> None:
    _, findings = read(with_thickness(f'Range="{broken}"'))
    assert [(f.code, f.facts["what"]) for f in findings] == [("ticket.value-unreadable", "thickness")]


# Doubts about units


@pytest.mark.parametrize(
    ("thickness", "doubted"), [("0.5", True), ("9.9", True), ("10", False), ("500", False)]
)
def test_a_thickness_below_10_looks_like_millimetres(thickness: str, doubted: bool) -> None:
    _, findings = read(with_thickness(f'Preferred="{thickness}"'))
    assert codes(findings) == ["ticket.unit-doubtful"] * doubted
    assert not doubted or findings[0].facts["unit"] == "micrometres"


@pytest.mark.parametrize(
    ("size", "doubted"),
    [
        ("3 1 0", ["finished width", "finished height"]),  # metres
        ("14.1 2834 0", ["finished width"]),  # 4.97 mm
        ("14.2 2834 0", []),  # 5.01 mm
        ("283464 2834 0", []),  # 99 999.8 mm
        ("2834 283500 0", ["finished height"]),  # 100 012.5 mm
    ],
)
def test_a_size_below_5_mm_or_above_100_m_looks_like_another_unit(size: str, doubted: list[str]) -> None:
    _, findings = read(changed(ORDER, ("2834.646 1417.323 0", size)))
    assert codes(findings) == ["ticket.unit-doubtful"] * len(doubted)
    assert [finding.facts["what"] for finding in findings] == doubted
    assert refuses(findings) == bool(doubted)


# Quantity

POOL = "<AmountPool>{}</AmountPool></ComponentLink>"


@pytest.mark.parametrize(
    ("parts", "quantity"),
    [
        ('<PartAmount Amount="5"><Part Condition="Good"/></PartAmount>', 5),
        ('<PartAmount Amount="5"/>', 5),
        (
            '<PartAmount Amount="5"><Part Condition="Good"/></PartAmount><PartAmount Amount="1"><Part Condition="Waste"/></PartAmount>',
            5,
        ),
        (
            '<PartAmount Amount="5"><Part Option="A"/></PartAmount><PartAmount Amount="2"><Part Option="B"/></PartAmount>',
            7,
        ),
    ],
)
def test_an_amount_pool_counts_its_good_pieces_and_not_the_links_own_amount(
    parts: str, quantity: int
) -> None:
    document = changed(ORDER, ('Amount="4"/>', f'Amount="4">{POOL.format(parts)}'))
    assert value(document, "quantity") == quantity


def delivery(*amounts: str, component: str = '<ComponentRef rRef="c"/>') -> str:
    drops = "".join(
        f'<DropIntent><DropItemIntent Amount="{n}">{component}</DropItemIntent></DropIntent>' for n in amounts
    )
    return f'<DeliveryIntent ID="di" Class="Intent" Status="Available">{drops}</DeliveryIntent>'


def test_without_an_amount_on_the_output_the_deliveries_add_up() -> None:
    document = changed(
        with_resource(delivery("3", "4")), (' Amount="4"/>\n</ResourceLinkPool>', "/>\n</ResourceLinkPool>")
    )
    assert value(document, "quantity") == 7


def test_a_delivery_of_something_else_does_not_count() -> None:
    other = '<Component ID="other" Class="Quantity" Status="Available" ComponentType="FinalProduct"/>'
    document = with_resource(other + delivery("3", component='<ComponentRef rRef="other"/>'))
    _, findings = read(changed(document, (' Amount="4"', "")))
    assert codes(findings) == ["ticket.value-missing"]


def test_a_delivery_that_names_nothing_counts_where_there_is_one_item() -> None:
    document = changed(with_resource(delivery("9", component="")), (' Amount="4"', ""))
    assert value(document, "quantity") == 9


def test_a_missing_quantity_is_asked_for_where_it_should_be() -> None:
    _, (finding,) = read(changed(ORDER, (' Amount="4"', "")))
    assert (finding.code, finding.place.path) == (
        "ticket.value-missing",
        "/JDF/ResourceLinkPool/ComponentLink/@Amount",
    )


# Where things may stand


def test_a_resource_that_another_node_links_is_not_taken_from_the_pool() -> None:
    child = (
        '<JDF ID="n2" Type="Product" Status="Waiting" JobPartID="2"><ResourceLinkPool>'
        '<LayoutIntentLink rRef="li" Usage="Input"/><ComponentLink rRef="c" Usage="Output" Amount="3"/>'
        "</ResourceLinkPool></JDF>"
    )
    unlinked = changed(
        ORDER, ('<LayoutIntentLink rRef="li" Usage="Input"/>\n', ""), ("</JDF>", f"{child}</JDF>")
    )
    ticket, findings = read(unlinked)
    assert [item.values["node_id"].value for item in ticket.items] == ["n1", "n2"]
    assert [(f.code, f.place.path) for f in findings] == [
        ("ticket.value-missing", "/JDF/ResourcePool/LayoutIntent/FinishedDimensions/@Preferred")
    ]


def test_a_process_node_in_an_order_is_no_item() -> None:
    child = (
        '<JDF ID="n2" Type="Combined" Types="DigitalPrinting" Status="Waiting"><ResourceLinkPool>'
        '<LayoutIntentLink rRef="li" Usage="Input"/></ResourceLinkPool></JDF></JDF>'
    )
    root = root_of(ORDER.removesuffix("</JDF>") + child)
    assert len(item_nodes(root, Resources(root))) == 1


@pytest.mark.parametrize("types", ["ImageSetting ConventionalPrinting", "Interpreting DigitalPrinting"])
def test_an_order_that_is_planned_for_another_kind_of_press_is_refused(types: str) -> None:
    child = f'<JDF ID="n2" Type="Combined" Types="{types}" Status="Waiting"/></JDF>'
    _, findings = read(ORDER.removesuffix("</JDF>") + child)
    assert codes(findings) == ["ticket.other-press"] * ("ConventionalPrinting" in types)
    assert not findings or findings[0].place.path == "/JDF/JDF/@Types"


def test_an_item_is_not_refused_for_how_another_one_is_made() -> None:
    other = (
        '<JDF ID="n2" Type="Product" Status="Waiting">'
        '<JDF ID="n3" Type="ConventionalPrinting" Status="Waiting"/></JDF></JDF>'
    )
    assert codes(read(ORDER.removesuffix("</JDF>") + other)[1]) == []


def test_the_earliest_due_time_of_the_items_is_the_orders_where_the_root_has_none() -> None:
    def child(number: int, due: str) -> str:
        return (
            f'<JDF ID="n{number}" Type="Product" Status="Waiting" JobPartID="{number}"><ResourcePool>'
            f'<NodeInfo ID="ni{number}" Class="Parameter" Status="Available" LastEnd="{due}"/>'
            f'<Component ID="c{number}" Class="Quantity" Status="Available" ComponentType="FinalProduct"/>'
            f'</ResourcePool><ResourceLinkPool><NodeInfoLink rRef="ni{number}" Usage="Input"/>'
            '<LayoutIntentLink rRef="li" Usage="Input"/>'
            f'<ComponentLink rRef="c{number}" Usage="Output" Amount="1"/></ResourceLinkPool></JDF>'
        )

    children = child(2, "2026-05-03T00:00:00Z") + child(3, "2026-05-02T00:00:00Z")
    ticket, _ = read(changed(ORDER, ("</JDF>", f"{children}</JDF>")))
    assert ticket.values["due"].value == datetime(2026, 5, 2, tzinfo=UTC)
    assert ticket.values["due"].path == "/JDF/JDF[2]/ResourcePool/NodeInfo/@LastEnd"


@pytest.mark.parametrize("never", ["INF", "-INF"])
def test_a_due_time_of_infinity_is_none(never: str) -> None:
    document = changed(ORDER, ("<ResourcePool>", f'<NodeInfo LastEnd="{never}"/><ResourcePool>'))
    assert value(document, "due") is None


# Artwork

ART = '<ArtDeliveryIntent ID="ai" Class="Intent" Status="Available"><ArtDelivery ArtDeliveryType="DigitalFile">{}</ArtDelivery></ArtDeliveryIntent>'
FILE = '<LayoutElement><FileSpec URL="{}"/></LayoutElement>'


@pytest.mark.parametrize(
    ("directory", "url", "resolved"),
    [
        (None, "a b.pdf", "a b.pdf"),
        ("file:///art", "a.pdf", "file:///art/a.pdf"),
        ("file:///art/", "sub/a.pdf", "file:///art/sub/a.pdf"),
        ("file:///art", "file:///else/a.pdf", "file:///else/a.pdf"),
        ("file:///art", "C:\\art\\a.pdf", "C:\\art\\a.pdf"),
        ("file:///art", "\\\\server\\art\\a.pdf", "\\\\server\\art\\a.pdf"),
        ("file:///art", "cid:a@b", "cid:a@b"),
    ],
)
def test_a_relative_url_counts_from_the_run_lists_directory(
    directory: str | None, url: str, resolved: str
) -> None:
    attribute = "" if directory is None else f' Directory="{directory}"'
    assert (
        value(with_resource(ART.format(f"<RunList{attribute}>{FILE.format(url)}</RunList>")), "artwork_url")
        == resolved
    )


def test_a_url_that_cannot_be_taken_apart_is_refused() -> None:
    run_list = f'<RunList Directory="http://[art">{FILE.format("a.pdf")}</RunList>'
    _, findings = read(with_resource(ART.format(run_list)))
    assert codes(findings) == ["ticket.value-unreadable"]


def test_the_first_partition_of_a_run_list_has_the_artwork() -> None:
    run_list = (
        '<RunList ID="rl" Class="Parameter" Status="Available" PartIDKeys="Run">'
        f'<RunList Run="1" Pages="3">{FILE.format("one.pdf")}</RunList><RunList Run="2">{FILE.format("two.pdf")}</RunList></RunList>'
    )
    document = with_resource(run_list + ART.format('<RunListRef rRef="rl"/>'))
    assert value(document, "artwork_url") == "one.pdf"
    assert value(document, "artwork_page") == 3


@pytest.mark.parametrize(("pages", "page"), [("0", 0), ("2 ~ 5", 2), ("2~5", 2), ("4 2", 4), ("-1", -1)])
def test_the_first_page_named_is_the_page(pages: str, page: int) -> None:
    run_list = f'<RunList Pages="{pages}">{FILE.format("a.pdf")}</RunList>'
    assert value(with_resource(ART.format(run_list)), "artwork_page") == page


# Our own namespace

OWN = 'xmlns:tb="tag:ticketbridge.example,2026:1"'


@pytest.mark.parametrize("panels", ["wanted", "allowed", "forbidden"])
def test_panels_are_read_from_our_own_attribute(panels: str) -> None:
    document = changed(ORDER, ('<LayoutIntent ID="li"', f'<LayoutIntent {OWN} tb:Panels="{panels}" ID="li"'))
    assert value(document, "panels") == panels


def test_an_unknown_word_of_our_own_is_refused() -> None:
    document = changed(ORDER, ('<LayoutIntent ID="li"', f'<LayoutIntent {OWN} tb:Panels="maybe" ID="li"'))
    _, (finding,) = read(document)
    assert (finding.code, finding.facts["allowed"]) == (
        "ticket.value-unreadable",
        "wanted or allowed or forbidden",
    )


def test_an_unknown_layer_is_refused() -> None:
    colour = f'<ColorIntent {OWN} ID="co" Class="Intent" Status="Available" tb:LayerStack="Color Gold"/>'
    _, (finding,) = read(with_resource(colour))
    assert finding.place.path == "/JDF/ResourcePool/ColorIntent/@LayerStack"


# What is not an order


@pytest.mark.parametrize("kind", ["Combined", "ProcessGroup", "Cutting"])
def test_a_ticket_that_neither_wants_nor_prints_anything_is_not_read(kind: str) -> None:
    document = f'<JDF {NAMESPACE} ID="n" Type="{kind}" Status="Waiting"/>'
    assert not is_product_intent(root_of(document))
    ticket, (finding,) = read(document)
    assert (ticket.items, finding.code, finding.place.path) == ((), "ticket.kind-not-read", "/JDF/@Type")
    assert refuses([finding])


def test_a_message_is_no_order() -> None:
    ticket, findings = read(MESSAGE)
    assert ticket.values == {}
    assert codes(findings) == ["ticket.kind-not-read"]


def test_an_order_without_items_says_so() -> None:
    _, findings = read(f'<JDF {NAMESPACE} ID="n" Type="Product" Status="Waiting" JobID="J"/>')
    assert codes(findings) == ["ticket.no-item"]


TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"], exclude_characters='<&"'), max_size=30
)


@given(TEXT)
def test_any_text_in_a_span_is_read_or_refused_and_crashes_nothing(text: str) -> None:
    for document in (with_thickness(f'Preferred="{text}"'), with_thickness(f'Range="{text}"')):
        read_ticket(root_of(document), "t.jdf")


@given(TEXT)
def test_any_text_as_time_page_and_amount_crashes_nothing(text: str) -> None:
    run_list = f'<RunList Pages="{text}" Directory="{text}">{FILE.format(text)}</RunList>'
    document = changed(
        with_resource(ART.format(run_list)),
        ('Amount="4"', f'Amount="{text}"'),
        ("2834.646 1417.323 0", text),
        ("<ResourcePool>", f'<NodeInfo LastEnd="{text}" JobPriority="{text}"/><ResourcePool>'),
    )
    read_ticket(root_of(document), "t.jdf")


# Finishing


def with_own(attributes: str) -> str:
    own = 'xmlns:tb="tag:ticketbridge.example,2026:1"'
    return changed(ORDER, ('<LayoutIntent ID="li"', f'<LayoutIntent {own} {attributes} ID="li"'))


def test_a_hem_is_a_width_in_points_and_the_edges_it_is_for() -> None:
    assert value(with_own('tb:Hem="85.039"'), "hem") == ("30",)
    assert value(with_own('tb:Hem="85.039 top bottom"'), "hem") == ("30", "top", "bottom")


@pytest.mark.parametrize(
    "attributes",
    [
        'tb:Hem="wide"',
        'tb:Hem="85 north"',
        'tb:Hem=" "',
        'tb:PolePocket="top"',
        'tb:EyeletSpacing="far"',
        'tb:PatternMatch="random"',
        'tb:PatternDrops="falling"',
        'tb:KeepSeamsFrom="100"',
        'tb:KeepSeamsFrom="100 200 300"',
    ],
)
def test_a_word_of_our_own_that_cannot_be_read_is_told(attributes: str) -> None:
    ticket, findings = read(with_own(attributes))
    assert codes(findings) == ["ticket.value-unreadable"]
    assert not {"hem", "pole_pocket", "eyelet_spacing_mm", "pattern_match"} & set(ticket.items[0].values)


def test_zones_without_seams_are_pairs_of_places() -> None:
    said = with_own('tb:KeepSeamsFrom="2834.646 4251.969 5669.291 5952.756"')
    assert value(said, "keep_seams_from") == ("1000 1500", "2000 2100")


def test_drops_are_continuous_or_numbered() -> None:
    assert value(with_own('tb:PatternDrops="numbered"'), "pattern_drops") == "numbered"


def test_holes_are_eyelets_at_their_places_in_mm() -> None:
    holes = """<HoleMakingIntent ID="hi" Class="Intent" Status="Available"><HoleList>
    <Hole Center="72 144" Extent="30 30" Shape="Round"/><Hole Center="144 144" Extent="30 30" Shape="Round"/>
    </HoleList></HoleMakingIntent>"""
    link = '<HoleMakingIntentLink rRef="hi" Usage="Input"/>'
    assert value(with_resource(holes, link), "eyelets") == ("25.4 50.8", "50.8 50.8")


def test_a_hole_that_cannot_be_read_is_told_and_the_others_count() -> None:
    holes = """<HoleMakingIntent ID="hi" Class="Intent" Status="Available"><HoleList>
    <Hole Center="here" Extent="30 30" Shape="Round"/><Hole Center="144 144" Extent="30 30" Shape="Round"/>
    </HoleList></HoleMakingIntent>"""
    ticket, findings = read(with_resource(holes, '<HoleMakingIntentLink rRef="hi" Usage="Input"/>'))
    assert codes(findings) == ["ticket.value-unreadable"]
    assert ticket.items[0].values["eyelets"].value == ("50.8 50.8",)


def test_laminate_and_contour_are_remarks() -> None:
    laminate = """<LaminatingIntent ID="la" Class="Intent" Status="Available">
    <Temperature DataType="EnumerationSpan" Preferred="Hot"/>
    <Surface DataType="EnumerationSpan" Preferred="Both"/></LaminatingIntent>"""
    assert value(with_resource(laminate, '<LaminatingIntentLink rRef="la" Usage="Input"/>'), "laminate") == (
        "Hot, Both"
    )
    shape = """<ShapeCuttingIntent ID="sc" Class="Intent" Status="Available"><ShapeCut CutPath="0 0 m"/>
    </ShapeCuttingIntent>"""
    assert (
        value(with_resource(shape, '<ShapeCuttingIntentLink rRef="sc" Usage="Input"/>'), "contour_cut")
        is True
    )
