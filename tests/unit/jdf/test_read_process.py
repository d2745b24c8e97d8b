"""Reading process tickets: which nodes count, where values may stand, and what is for another press."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.jdf.tickets import NAMESPACE, PROCESS, changed, codes, root_of
from ticketbridge.jdf.process_nodes import is_process_ticket, printing_nodes
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.finding import Finding
from ticketbridge.model.ticket import Ticket

PARAMS = '<DigitalPrintingParams ID="dp" Class="Parameter" Status="Available" PrintingType="WebFed"/>'
MEDIA = '<Media ID="m" Class="Consumable" Status="Available" MediaUnit="Roll" Thickness="500"/>'
COMPONENT = 'ComponentType="PartialProduct Web" Dimensions="2834.646 1417.323 0"'
ART = '<RunList ID="rl" Class="Parameter" Status="Available"><LayoutElement><FileSpec URL="a.pdf"/></LayoutElement></RunList>'
OWN = 'xmlns:tb="tag:ticketbridge.example,2026:1"'


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


def with_resource(resource: str, link: str) -> str:
    return changed(
        PROCESS,
        ("<ResourcePool>", f"<ResourcePool>{resource}"),
        ("<ResourceLinkPool>", f"<ResourceLinkPool>{link}"),
    )


def interpreting(attributes: str = "", inside: str = "") -> str:
    return with_resource(
        f'<InterpretingParams ID="ip" Class="Parameter" Status="Available" {attributes}>{inside}</InterpretingParams>',
        '<InterpretingParamsLink rRef="ip" Usage="Input"/>',
    )


# Which nodes print


@pytest.mark.parametrize(
    "types",
    [
        "DigitalPrinting",
        "Interpreting Rendering DigitalPrinting",
        "RIPing DigitalPrinting",
        "DigitalPrinting Cutting",
    ],
)
@pytest.mark.parametrize("kind", ["Combined", "ProcessGroup"])
def test_combined_nodes_and_gray_boxes_print_where_digital_printing_is_among_their_processes(
    kind: str, types: str
) -> None:
    assert is_process_ticket(
        root_of(f'<JDF {NAMESPACE} ID="n" Type="{kind}" Types="{types}" Status="Waiting"/>')
    )


def test_a_node_of_the_one_process_prints() -> None:
    assert is_process_ticket(root_of(f'<JDF {NAMESPACE} ID="n" Type="DigitalPrinting" Status="Waiting"/>'))


@pytest.mark.parametrize(
    ("kind", "types"),
    [
        ("Combined", "Cutting"),
        ("Cutting", ""),
        ("Cutting", "DigitalPrinting"),
        ("Product", "DigitalPrinting"),
    ],
)
def test_other_nodes_do_not(kind: str, types: str) -> None:
    assert not is_process_ticket(
        root_of(f'<JDF {NAMESPACE} ID="n" Type="{kind}" Types="{types}" Status="Waiting"/>')
    )


def test_of_a_group_that_is_spelled_out_below_the_nodes_below_count() -> None:
    inner = '<JDF ID="b" Type="Combined" Types="DigitalPrinting" Status="Waiting"/><JDF ID="c" Type="Cutting" Status="Waiting"/>'
    root = root_of(
        f'<JDF {NAMESPACE} ID="a" Type="ProcessGroup" Types="DigitalPrinting Cutting" Status="Waiting">{inner}</JDF>'
    )
    assert [node.get("ID") for node in printing_nodes(root)] == ["b"]


def test_where_a_product_wants_nothing_its_process_nodes_count() -> None:
    document = (
        f'<JDF {NAMESPACE} ID="p" Type="Product" Status="Waiting" JobID="J">'
        + changed(PROCESS, (f"JDF {NAMESPACE}", "JDF"))
        + "</JDF>"
    )
    ticket, findings = read(document)
    assert findings == []
    assert (ticket.values["job_id"].value, ticket.items[0].values["node_id"].value) == ("J", "n1")


# What is for another press


@pytest.mark.parametrize("process", ["ConventionalPrinting", "ImageSetting", "IDPrinting"])
@pytest.mark.parametrize("kind", ["Combined", "ProcessGroup", ""])
def test_a_ticket_for_plates_or_conventional_printing_is_refused_by_that_name(
    process: str, kind: str
) -> None:
    node = f'Type="{kind}" Types="{process} Cutting"' if kind else f'Type="{process}"'
    ticket, (finding,) = read(f'<JDF {NAMESPACE} ID="n" {node} Status="Waiting" JobID="J"/>')
    assert (ticket.items, finding.code, finding.facts["found"]) == ((), "ticket.other-press", process)
    assert refuses([finding])


@pytest.mark.parametrize(
    ("change", "where"),
    [
        (('PrintingType="WebFed"', 'PrintingType="SheetFed"'), "/JDF/ResourcePool/DigitalPrintingParams/@PrintingType"),
        (('MediaUnit="Roll"', 'MediaUnit="Sheet"'), "/JDF/ResourcePool/Media/@MediaUnit"),
        (('MediaUnit="Roll"', 'MediaUnit="Roll" MediaType="Plate"'), "/JDF/ResourcePool/Media/@MediaType"),
        (("Rendering DigitalPrinting", "ConventionalPrinting DigitalPrinting"), "/JDF/@Types"),
        (
            ("<ResourceLinkPool>", '<ResourceLinkPool><ExposedMediaLink rRef="x" Usage="Input"/>'),
            "/JDF/ResourceLinkPool/ExposedMediaLink/@rRef",
        ),
    ],
)  # fmt: skip
def test_sheets_and_plates_are_refused_where_they_are_said(change: tuple[str, str], where: str) -> None:
    _, findings = read(changed(PROCESS, change))
    assert [(finding.code, finding.place.path) for finding in findings] == [("ticket.other-press", where)]
    assert refuses(findings)


def test_printing_on_printed_sheets_is_refused() -> None:
    sheets = '<Component ID="s" Class="Quantity" Status="Available" ComponentType="PartialProduct Sheet"/>'
    document = with_resource(sheets, '<ComponentLink rRef="s" Usage="Input" CombinedProcessIndex="2"/>')
    assert codes(read(document)[1]) == ["ticket.other-press"]
    behind = changed(document, ("Rendering DigitalPrinting", "Rendering DigitalPrinting Gathering"), ('"s" Usage="Input" CombinedProcessIndex="2"', '"s" Usage="Input" CombinedProcessIndex="3"'))  # fmt: skip
    assert codes(read(behind)[1]) == []


def test_one_sheet_fed_node_refuses_the_whole_ticket() -> None:
    roll = changed(PROCESS, (f"JDF {NAMESPACE}", "JDF"))
    sheet = changed(
        roll, ("WebFed", "SheetFed"), *((f'"{name}"', f'"{name}2"') for name in ("n1", "rl", "dp", "m", "c"))
    )
    _, findings = read(
        f'<JDF {NAMESPACE} ID="r" Type="ProcessGroup" Status="Waiting" JobID="J">{roll}{sheet}</JDF>'
    )
    assert codes(findings) == ["ticket.other-press"]


NO_UNIT = MEDIA.replace(' MediaUnit="Roll"', "")


@pytest.mark.parametrize(
    ("media", "params"),
    [
        (MEDIA, PARAMS.replace(' PrintingType="WebFed"', "")),
        (MEDIA.replace("Roll", "Continuous"), PARAMS.replace("WebFed", "SystemSpecified")),
        (NO_UNIT, PARAMS),
        (NO_UNIT, PARAMS.replace("WebFed", "ContinuousFed")),
        (NO_UNIT.replace("/>", ' OuterCoreDiameter="244"/>'), PARAMS.replace(' PrintingType="WebFed"', "")),
        (NO_UNIT.replace("/>", '><Location LocationName="Roll-1"/></Media>'), PARAMS.replace("WebFed", "SystemSpecified")),
    ],
)  # fmt: skip
def test_a_roll_is_meant_where_anything_says_so(media: str, params: str) -> None:
    assert value(changed(PROCESS, (MEDIA, media), (PARAMS, params)), "media_unit") in ("Roll", "Continuous")


def test_where_nothing_says_a_roll_the_standards_sheet_is_what_was_read() -> None:
    document = changed(PROCESS, (MEDIA, NO_UNIT), (PARAMS, PARAMS.replace(' PrintingType="WebFed"', "")))
    ticket, findings = read(document)
    assert findings == []
    unit = ticket.items[0].values["media_unit"]
    assert (unit.value, unit.raw, unit.path) == ("Sheet", "", "/JDF/ResourcePool/Media/@MediaUnit")


# What may run


@pytest.mark.parametrize("word", ["Inactive", "Informative", "TestRun"])
def test_a_node_that_must_not_run_is_not_printed(word: str) -> None:
    ticket, (finding,) = read(changed(PROCESS, ('JobID="HG-2"', f'JobID="HG-2" Activation="{word}"')))
    assert (ticket.items, finding.code, finding.facts["found"]) == ((), "ticket.not-active", word)
    assert refuses([finding])


@pytest.mark.parametrize("word", ["Active", "TestRunAndGo"])
def test_an_active_node_is_printed(word: str) -> None:
    assert value(changed(PROCESS, ('JobID="HG-2"', f'JobID="HG-2" Activation="{word}"')), "quantity") == 4


@pytest.mark.parametrize(("word", "held"), [("Active", False), ("Held", True)])
def test_a_held_node_is_read_to_wait_until_it_is_let_go(word: str, held: bool) -> None:
    ticket, findings = read(changed(PROCESS, ('JobID="HG-2"', f'JobID="HG-2" Activation="{word}"')))
    assert ([item.held for item in ticket.items], findings) == ([held], [])


def two_nodes(first: str, second: str, around: str = "") -> str:
    node = changed(PROCESS, (f"JDF {NAMESPACE}", "JDF"))
    other = changed(node, *((f'"{name}"', f'"{name}2"') for name in ("n1", "rl", "dp", "m", "c")))
    one = changed(node, ('Status="Waiting"\nJobID', f"{first}\nJobID"))
    two = changed(other, ('Status="Waiting"\nJobID', f"{second}\nJobID"))
    return f'<JDF {NAMESPACE} ID="r" Type="ProcessGroup" Status="Waiting" JobID="J" {around}>{one}{two}</JDF>'


def test_a_node_inherits_what_may_not_run_from_those_around_it() -> None:
    document = two_nodes('Status="Waiting" Activation="Active"', 'Status="Waiting"', 'Activation="Inactive"')
    assert codes(read(document)[1]) == ["ticket.not-active", "ticket.not-active"]


@pytest.mark.parametrize(
    "other",
    [
        'Status="Waiting" Activation="Inactive"',
        'Status="Completed"',
        'Status="InProgress"',
        'Status="Spawned"',
    ],
)
def test_nodes_that_must_not_run_or_have_run_are_left_alone_and_the_others_printed(other: str) -> None:
    ticket, findings = read(two_nodes(other, 'Status="Ready"'))
    assert [item.values["node_id"].value for item in ticket.items] == ["n12"]
    assert codes(findings) == ["ticket.node-left-alone"]
    assert not refuses(findings)


@pytest.mark.parametrize("status", ["Completed", "Aborted", "InProgress", "Spawned", "Stopped"])
def test_a_node_at_work_or_done_is_not_printed_again(status: str) -> None:
    ticket, findings = read(changed(PROCESS, ('Status="Waiting"', f'Status="{status}"')))
    assert (ticket.items, codes(findings)) == ((), ["ticket.not-waiting"])


@pytest.mark.parametrize(
    ("pool", "waits"),
    [
        ('<StatusPool Status="Waiting"/>', True),
        ('<StatusPool Status="Completed"/>', False),
        ('<StatusPool Status="Waiting"><PartStatus Status="Completed"/></StatusPool>', False),
        ('<StatusPool><PartStatus Status="Completed"/><PartStatus Status="Ready"/></StatusPool>', True),
    ],
)
def test_the_statuses_of_parts_of_old_tickets_are_looked_at(pool: str, waits: bool) -> None:
    document = changed(
        PROCESS, ('Status="Waiting"', 'Status="Pool"'), ("<ResourcePool>", f"{pool}<ResourcePool>")
    )
    assert codes(read(document)[1]) == ([] if waits else ["ticket.not-waiting"])


@pytest.mark.parametrize(("second", "waits"), [("Completed", False), ("Waiting", True)])
def test_the_statuses_of_parts_in_node_info_are_looked_at(second: str, waits: bool) -> None:
    plan = (
        '<NodeInfo ID="ni" Class="Parameter" Status="Available" PartIDKeys="Run"><NodeInfo Run="1" NodeStatus="Completed"/>'
        f'<NodeInfo Run="2" NodeStatus="{second}"/></NodeInfo>'
    )
    document = changed(with_resource(plan, '<NodeInfoLink rRef="ni" Usage="Input"/>'), ('Types="Interpreting Rendering DigitalPrinting" Status="Waiting"', 'Types="Interpreting Rendering DigitalPrinting" Status="Part"'))  # fmt: skip
    assert codes(read(document)[1]) == ([] if waits else ["ticket.not-waiting"])


# Size and quantity


def test_the_size_is_what_comes_out_else_the_trim_box() -> None:
    boxed = changed(PROCESS, ("<LayoutElement>", '<LayoutElement SourceTrimBox="10 10 1427.323 2844.646">'))
    assert value(boxed, "finished_width_mm") == 1000
    assert value(changed(boxed, ("2834.646 1417.323 0", "0 0 0")), "finished_width_mm") == 500
    assert value(changed(boxed, (' Dimensions="2834.646 1417.323 0"', "")), "finished_height_mm") == 1000


def test_a_size_that_nobody_says_is_asked_for_at_the_component() -> None:
    _, (finding,) = read(changed(PROCESS, (' Dimensions="2834.646 1417.323 0"', "")))
    assert (finding.code, finding.place.path) == (
        "ticket.value-missing",
        "/JDF/ResourcePool/Component/@Dimensions",
    )


def test_a_size_in_millimetres_is_doubted() -> None:
    _, findings = read(changed(PROCESS, ("2834.646 1417.323 0", "10 5 0")))
    assert codes(findings) == ["ticket.unit-doubtful", "ticket.unit-doubtful"]


@pytest.mark.parametrize("unit", ["m2", "m", "kg"])
def test_an_amount_in_another_unit_than_pieces_is_refused(unit: str) -> None:
    _, findings = read(changed(PROCESS, (COMPONENT, f'{COMPONENT} Unit="{unit}"')))
    assert codes(findings) == ["ticket.quantity-not-whole"]


def test_waste_and_proofs_are_no_pieces() -> None:
    other = '<Component ID="w" Class="Quantity" Status="Unavailable" ComponentType="Proof"/>'
    link = '<ComponentLink rRef="w" Usage="Output" ProcessUsage="{}" Amount="99"/>'
    for usage in ("Waste", "Proof"):
        assert value(with_resource(other, link.format(usage)), "quantity") == 4


@pytest.mark.parametrize(
    ("boxes", "bleed"),
    [
        ('SourceTrimBox="10 10 110 110" SourceBleedBox="1.496 1.496 118.504 118.504"', 3.0),
        ('SourceTrimBox="10 10 110 110" SourceBleedBox="0 1.496 120 120"', 3.0),
        ('SourceTrimBox="10 10 110 110" SourceBleedBox="10 0 120 120"', 0.0),
        ('SourceTrimBox="10 10 110 110" SourceBleedBox="20 20 100 100"', 0.0),
        ('SourceTrimBox="10 10 110 110"', None),
    ],
)
def test_the_bleed_is_what_every_side_has(boxes: str, bleed: float | None) -> None:
    found = value(changed(PROCESS, ("<LayoutElement>", f"<LayoutElement {boxes}>")), "bleed_mm")
    assert found == (None if bleed is None else pytest.approx(bleed, abs=0.001))


# Substrate


def test_the_substrate_of_another_process_of_the_node_is_not_the_one_printed_on() -> None:
    film = '<Media ID="f" Class="Consumable" Status="Available" MediaType="LaminatingFoil"/>'
    document = changed(
        with_resource(film, '<MediaLink rRef="f" Usage="Input" CombinedProcessIndex="3"/>'),
        ("Rendering DigitalPrinting", "Rendering DigitalPrinting Laminating"),
    )
    assert value(document, "media_type") is None
    assert value(document, "thickness_um") == 500


IN_THE_POOL = MEDIA.replace('"m"', '"unlinked"').replace("500", "777")
INLINE = '<Media MediaUnit="Roll" Thickness="333"/>'
LINK = '<MediaLink rRef="m" Usage="Input" CombinedProcessIndex="2"/>'


@pytest.mark.parametrize(
    ("place", "with_media"),
    [
        (PARAMS, PARAMS.replace("/>", f">{INLINE}</DigitalPrintingParams>")),
        (PARAMS, PARAMS.replace("/>", '><MediaRef rRef="m"/></DigitalPrintingParams>')),
        (f"{COMPONENT}/>", f"{COMPONENT}>{INLINE}</Component>"),
        (ART, f'{ART}<Layout ID="ly" Class="Parameter" Status="Available">{INLINE}</Layout>'),
    ],
)
def test_without_a_link_the_substrate_is_found_where_it_is_named(place: str, with_media: str) -> None:
    document = changed(
        PROCESS, (place, with_media), (LINK, ""), (MEDIA, MEDIA.replace("500", "333") + IN_THE_POOL)
    )
    if "MediaRef" not in with_media:
        document = changed(document, (MEDIA.replace("500", "333"), ""))
    assert value(document, "thickness_um") == 333


def test_a_substrate_that_nothing_names_is_taken_from_the_nodes_own_pool() -> None:
    assert value(changed(PROCESS, (LINK, "")), "thickness_um") == 500


def test_two_substrates_for_one_piece_are_refused() -> None:
    document = with_resource(IN_THE_POOL, '<MediaLink rRef="unlinked" Usage="Input"/>')
    assert codes(read(document)[1]) == ["ticket.media-not-chosen"]
    assert codes(read(changed(document, ('"unlinked" Usage', '"m" Usage')))[1]) == []


PARTED = '<Media ID="m" Class="Consumable" Status="Available" MediaUnit="Roll" PartIDKeys="Location"><Media Location="Roll-1" {}/><Media Location="Roll-2" {}/></Media>'


def test_parts_that_differ_must_be_chosen_between() -> None:
    document = changed(PROCESS, (MEDIA, PARTED.format('Thickness="500"', 'Thickness="210"')))
    _, (finding,) = read(document)
    assert (finding.code, finding.facts["attribute"]) == ("ticket.part-not-chosen", "Thickness")
    asked = LINK.replace("/>", '><Part Location="Roll-2"/></MediaLink>')
    assert value(changed(document, (LINK, asked)), "thickness_um") == 210


def test_parts_that_differ_in_width_alone_are_one_substrate() -> None:
    document = changed(PROCESS, (MEDIA, PARTED.format('Dimension="4535 0"', 'Dimension="9070 0"')))
    assert value(document, "roll_width_mm") is None


def test_a_part_that_is_not_there_is_refused() -> None:
    document = changed(
        PROCESS,
        (MEDIA, PARTED.format('Thickness="500"', 'Thickness="500"')),
        (LINK, LINK.replace("/>", '><Part Location="Roll-3"/></MediaLink>')),
    )
    _, findings = read(document)
    assert codes(findings) == ["ticket.part-not-there"]
    assert findings[0].facts["part"] == "Location Roll-3"


# Artwork


def runs(*urls: str) -> str:
    leaves = "".join(
        f'<RunList Run="{n}"><LayoutElement><FileSpec URL="{url}"/></LayoutElement></RunList>'
        for n, url in enumerate(urls)
    )
    return changed(PROCESS, (ART, f'<RunList ID="rl" Class="Parameter" Status="Available" PartIDKeys="Run" Directory="file:///art">{leaves}</RunList>'))  # fmt: skip


def test_a_run_inherits_its_directory() -> None:
    assert value(runs("a.pdf"), "artwork_url") == "file:///art/a.pdf"


def test_several_files_are_refused_and_one_of_them_may_be_asked_for() -> None:
    _, findings = read(runs("a.pdf", "b.pdf"))
    assert codes(findings) == ["ticket.more-than-one-page"]
    link = '<RunListLink rRef="rl" Usage="Input" CombinedProcessIndex="0"'
    document = changed(runs("a.pdf", "b.pdf"), (f"{link}/>", f'{link}><Part Run="1"/></RunListLink>'))
    assert value(document, "artwork_url") == "file:///art/b.pdf"


@pytest.mark.parametrize(
    ("attributes", "one"),
    [
        ('NPage="1" Pages="3"', True),
        ('Pages="0 ~ 0"', True),
        ('Pages="0 ~ -1"', True),
        ('Pages="-1"', True),
        ('NPage="2"', False),
        ('Pages="0 ~ 3"', False),
        ('Pages="0~3"', False),
        ('Pages="0 2"', False),
        ('Pages="-2 ~ -1"', False),
    ],
)
def test_an_item_is_one_page(attributes: str, one: bool) -> None:
    _, findings = read(changed(PROCESS, ('<RunList ID="rl"', f'<RunList ID="rl" {attributes}')))
    assert codes(findings) == ([] if one else ["ticket.more-than-one-page"])


def test_marks_are_no_artwork() -> None:
    marks = '<RunList ID="mk" Class="Parameter" Status="Available"><LayoutElement><FileSpec URL="marks.pdf"/></LayoutElement></RunList>'
    document = with_resource(marks, '<RunListLink rRef="mk" Usage="Input" ProcessUsage="Marks"/>')
    assert value(document, "artwork_url") == "a.pdf"


# How it is printed


@pytest.mark.parametrize(
    ("attributes", "inside", "panels"),
    [
        ('Poster="2 1"', "", "wanted"),
        ('Poster="1 1"', "", None),
        ("", '<FitPolicy SizePolicy="Tile"/>', "allowed"),
        ("", '<FitPolicy SizePolicy="Abort"/>', "forbidden"),
        ("", '<FitPolicy SizePolicy="ClipToMaxPage"/>', None),
        ('Poster="2 1"', '<FitPolicy SizePolicy="Tile"/>', "wanted"),
    ],
)
def test_panels_are_asked_for_in_the_old_way_and_the_new(
    attributes: str, inside: str, panels: str | None
) -> None:
    assert value(interpreting(attributes, inside), "panels") == panels


def test_tiling_among_the_processes_wants_panels_and_our_own_word_decides() -> None:
    tiled = changed(PROCESS, ("Rendering DigitalPrinting", "Rendering Tiling DigitalPrinting"), ('CombinedProcessIndex="2"', 'CombinedProcessIndex="3"'))  # fmt: skip
    assert value(tiled, "panels") == "wanted"
    own = changed(
        tiled, ('<DigitalPrintingParams ID="dp"', f'<DigitalPrintingParams {OWN} tb:Panels="allowed" ID="dp"')
    )
    assert value(own, "panels") == "allowed"


@pytest.mark.parametrize(("policy", "may"), [("NoRotate", False), ("RotateOrthogonal", True)])
def test_a_fit_policy_says_whether_pieces_may_be_turned(policy: str, may: bool) -> None:
    assert value(interpreting(inside=f'<FitPolicy RotatePolicy="{policy}"/>'), "may_rotate") == may


@pytest.mark.parametrize(
    ("scaling", "served"), [("1 1", True), ("1.0 1", True), ("0.1 0.1", False), ("10 10", False)]
)
def test_scaled_artwork_is_refused(scaling: str, served: bool) -> None:
    _, findings = read(interpreting(f'Scaling="{scaling}"'))
    assert codes(findings) == ([] if served else ["ticket.scaling-not-served"])


def colorant(inside: str) -> str:
    return with_resource(
        f'<ColorantControl ID="cc" Class="Parameter" Status="Available">{inside}</ColorantControl>',
        '<ColorantControlLink rRef="cc" Usage="Input" CombinedProcessIndex="0 2"/>',
    )


ORDERED = '<ColorantOrder><SeparationSpec Name="White"/><SeparationSpec Name="Cyan"/></ColorantOrder>'
SPOTS = '<ColorantParams><SeparationSpec Name="Gold"/></ColorantParams>'
POOL = '<ColorPool><Color Name="Clear" ColorType="Transparent"/></ColorPool>'


@pytest.mark.parametrize(
    ("inside", "names"),
    [
        (ORDERED + SPOTS + POOL, ("White", "Cyan")),
        (SPOTS + POOL, ("Gold",)),
        (POOL, ("Clear",)),
        ("", None),
        (
            SPOTS
            + '<ColorantAlias ReplacementColorantName="White"><SeparationSpec Name="Gold"/></ColorantAlias>',
            ("White",),
        ),
    ],
)
def test_separations_are_the_order_else_the_spot_colours_else_the_pool(inside: str, names: object) -> None:
    assert value(colorant(inside), "separations") == names


def test_layers_and_print_mode_are_read_from_our_own_words() -> None:
    element = PARAMS.replace(
        "/>", f'><tb:PrintMode {OWN} Name="m-1" LayerStack="White Color"/></DigitalPrintingParams>'
    )
    attributes = PARAMS.replace(' ID="dp"', f' {OWN} ID="dp" tb:PrintMode="m-1" tb:LayerStack="White Color"')
    node = changed(PROCESS, (' ID="n1"', f' {OWN} ID="n1" tb:PrintMode="m-1" tb:LayerStack="White Color"'))
    for document in (changed(PROCESS, (PARAMS, element)), changed(PROCESS, (PARAMS, attributes)), node):
        assert value(document, "print_mode_name") == "m-1"
        assert value(document, "layer_stack") == "White Color"


def test_an_unknown_layer_is_refused_in_a_process_ticket_too() -> None:
    document = changed(PROCESS, (' ID="n1"', f' {OWN} ID="n1" tb:LayerStack="Gold"'))
    assert codes(read(document)[1]) == ["ticket.value-unreadable"]


def test_a_named_feature_wins_over_our_own_words_and_those_over_the_old_form() -> None:
    old = changed(PROCESS, (' ID="n1"', f' {OWN} ID="n1" NamedFeatures="Gloss Low PrintMode old"'))
    own = changed(old, (' ID="n1"', ' ID="n1" tb:PrintMode="own"'))
    feature = '<GeneralID IDUsage="PrintMode" IDValue="feature" DataType="NamedFeature"/>'
    general = changed(own, ("<ResourcePool>", f"{feature}<ResourcePool>"))
    assert [value(document, "print_mode_name") for document in (old, own, general)] == [
        "old",
        "own",
        "feature",
    ]


def test_a_general_id_about_something_else_is_no_print_mode() -> None:
    other = '<GeneralID IDUsage="QueueEntryID" IDValue="Q1"/>'
    assert value(changed(PROCESS, ("<ResourcePool>", f"{other}<ResourcePool>")), "print_mode_name") is None


# Remarks


def test_eyelets_are_a_remark() -> None:
    hole = '<Hole Center="1 1" Extent="34.016 34.016" Shape="Round" Reinforcement="Grommet"/>'
    params = f'<HoleMakingParams ID="hm" Class="Parameter" Status="Available" HoleType="Explicit">{hole * 4}</HoleMakingParams>'
    ticket, _ = read(with_resource(params, '<HoleMakingParamsLink rRef="hm" Usage="Input"/>'))
    assert ticket.comments == ("Holes: Explicit; 4 listed, 12 mm wide, Grommet",)


def test_eyelets_of_an_order_are_a_remark_too() -> None:
    intent = (
        '<HoleMakingIntent ID="hm" Class="Intent" Status="Available"><HoleType DataType="StringSpan" Preferred="Explicit"/>'
        "</HoleMakingIntent>"
    )
    assert read(with_resource(intent, ""))[0].comments == ("Holes: Explicit",)


@pytest.mark.parametrize(
    "inside",
    [
        '<Lot LotID="L-7"/>',
        '<AmountPool><PartAmount Amount="1"><Part LotID="L-7"/></PartAmount></AmountPool>',
    ],
)
def test_a_lot_that_is_asked_for_is_a_remark(inside: str) -> None:
    document = changed(PROCESS, (LINK, LINK.replace("/>", f">{inside}</MediaLink>")))
    assert read(document)[0].comments == ("Lot of the substrate: L-7",)


# Anything at all

NAMES = st.sampled_from(
    ["RunList", "Media", "Component", "DigitalPrintingParams", "InterpretingParams", "ColorantControl", "LayoutElement",
     "FileSpec", "FitPolicy", "MediaRef", "FileSpecRef", "Part", "Location", "ColorPool", "Color", "ColorantOrder"]
)  # fmt: skip
ATTRIBUTES = st.sampled_from(
    ["rRef", "PartIDKeys", "Location", "Run", "URL", "Dimensions", "Dimension", "Thickness", "Pages", "NPage", "Poster",
     "Scaling", "SourceTrimBox", "SourceBleedBox", "MediaUnit", "Unit", "Name", "Amount"]
)  # fmt: skip
VALUES = st.sampled_from(
    ["m", "rl", "c", "dp", "", "1", "-1 ~ 3", "x", "1 2", "NaN", "1 2 3 4", "Roll", "INF 0", "~", "Location"]
)


@st.composite
def elements(draw: st.DrawFn, depth: int = 3) -> str:
    name = draw(NAMES)
    said = draw(st.dictionaries(ATTRIBUTES, VALUES, max_size=3))
    inside = "".join(draw(st.lists(elements(depth - 1), max_size=2))) if depth else ""
    attributes = " ".join(f"{key}='{text}'" for key, text in said.items())
    return f"<{name} {attributes}>{inside}</{name}>"


@given(elements(), st.sampled_from(["<ResourcePool>", '<Media ID="m" Class="Consumable"', "<LayoutElement>"]))
def test_any_resource_in_any_place_is_read_or_refused_and_crashes_nothing(element: str, place: str) -> None:
    if place.endswith(">"):
        document = changed(PROCESS, (place, place + element))
    else:
        document = changed(PROCESS, (MEDIA, MEDIA.replace("/>", f">{element}</Media>")))
    read(document)
