"""Tickets whose form, words, references or values are wrong; then as the remedy wants them."""

import re
from collections.abc import Iterator

from tests.remedies.changes import AGAIN, LINKED_ROLL, SAMPLE_ROLL, how_to_print, replaced
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from tests.unit.jdf.tickets import NAMESPACE, PROCESS, changed
from ticketbridge.demo.orders import BANNER, ticket

Steps = Iterator[None]
INTENT = ticket(BANNER).decode()
PARTED = SAMPLE_ROLL.replace("/>", "{}</Media>")


# The bytes


@provokes("xml.too-large", "raise ticket_bytes under limits in shop.yaml")
def test_a_ticket_of_more_bytes_than_are_read(scene: Scene) -> Steps:
    scene.edit("shop.yaml", "ticket_bytes: 16777216", "ticket_bytes: 1000")
    scene.order()
    yield
    scene.edit("shop.yaml", "ticket_bytes: 1000", "ticket_bytes: 16777216")
    scene.order()


@provokes("xml.encoding-not-read", "Write it in one of these")
def test_an_encoding_that_is_not_read(scene: Scene) -> Steps:
    scene.order(change=lambda data: data.decode().replace("UTF-8", "UTF-7").encode())
    yield
    scene.order(change=lambda data: data.decode().replace("UTF-8", "ISO-8859-1").encode("latin-1"))


@provokes("xml.encoding-contradicted", "best UTF-8")
def test_an_encoding_that_the_bytes_contradict(scene: Scene) -> Steps:
    scene.order(change=lambda data: data.replace(b"Fair banner", b"F\xeate banner"))
    yield
    scene.order(change=lambda data: data.replace(b"Fair banner", "Fête banner".encode()))


@provokes("xml.doctype", "leave it out")
def test_a_document_type(scene: Scene) -> Steps:
    scene.order(change=lambda data: data.replace(b"<JDF ", b"<!DOCTYPE JDF>\n<JDF ", 1))
    yield
    scene.order()


@provokes("xml.not-well-formed", "Look at the place named")
def test_xml_that_is_not_well_formed(scene: Scene) -> Steps:
    scene.order(change=replaced(('Amount="3"', "Amount=3")))
    yield
    scene.order()


@provokes("xml.too-much", "look at limits in shop.yaml")
def test_more_elements_than_a_ticket_may_have(scene: Scene) -> Steps:
    scene.edit("shop.yaml", "elements: 200000", "elements: 20")
    scene.order()
    yield
    scene.edit("shop.yaml", "elements: 20", "elements: 200000")
    scene.order()


@provokes("xml.wrong-root", "must be taken out first")
def test_a_ticket_inside_another_document(scene: Scene) -> Steps:
    scene.order(change=lambda data: b"<box>" + data.partition(b"?>")[2] + b"</box>")
    yield
    scene.order()


@provokes("xml.wrong-namespace", "http://www.CIP4.org/JDFSchema_1_1")
def test_a_ticket_of_another_generation_of_the_standard(scene: Scene) -> Steps:
    scene.order(change=replaced(("JDFSchema_1_1", "JDFSchema_2_0")))
    yield
    scene.order()


# The words


@provokes("ticket.attribute-wrong", "Correct the value")
def test_a_word_that_the_standard_does_not_have(scene: Scene) -> Steps:
    scene.order(change=replaced(('Sides="OneSided"', 'Sides="Both"')))
    yield
    scene.order()


@provokes("ticket.attribute-missing", "Let the sender write it")
def test_an_attribute_that_must_be_there(scene: Scene) -> Steps:
    scene.order(change=replaced((' ComponentType="FinalProduct"', "")))
    yield
    scene.order()


@provokes("ticket.structure-wrong", "Correct it")
def test_text_where_elements_belong(scene: Scene) -> Steps:
    scene.order(change=replaced(("</ResourcePool>", "three pieces</ResourcePool>")))
    yield
    scene.order()


@provokes("ticket.more-findings", "Correct these first")
def test_more_findings_than_anybody_reads(scene: Scene) -> Steps:
    wrong = '<SeparationSpec Name="&#10;"/><ObjectResolution/>' * 60
    rendering = f'<RenderingParams ID="r" Class="Parameter" Status="Available">{wrong}</RenderingParams>'
    scene.order(change=replaced(("<ResourcePool>", f"<ResourcePool>{rendering}")))
    yield
    scene.order()


@provokes("ticket.version-not-read", "Set the sender to a version")
def test_a_version_that_is_not_read(scene: Scene) -> Steps:
    scene.order(change=replaced((' Version="1.5"', ' Version="1.0"')))
    yield
    scene.order()


@provokes("ticket.max-version-below", "leave MaxVersion out")
def test_a_highest_version_below_the_ticket_s_own(scene: Scene) -> Steps:
    scene.order(change=replaced(('MaxVersion="1.7"', 'MaxVersion="1.4"')))
    yield
    scene.order(change=replaced((' MaxVersion="1.7"', "")))


@provokes("ticket.time-without-zone", "write the offset")
def test_a_time_without_a_zone(scene: Scene) -> Steps:
    scene.order(change=replaced(("T12:00:00+00:00", "T12:00:00")))
    yield
    scene.order(AGAIN, replaced(("T12:00:00+00:00", "T12:00:00+01:00")))


@provokes("ticket.control-character", "without line breaks")
def test_a_line_break_in_the_name_of_a_job(scene: Scene) -> Steps:
    scene.order(change=replaced(('JobID="HL-24117"', 'JobID="HL&#10;24117"')))
    yield
    scene.order()


# References


@provokes("ticket.id-twice", "an ID of its own")
def test_one_id_for_two_elements(scene: Scene) -> Steps:
    scene.order(change=replaced(('<MediaIntent ID="mi"', '<MediaIntent ID="li"')))
    yield
    scene.order()


@provokes("ticket.reference-dangling", "leave the reference out")
def test_a_reference_to_nothing(scene: Scene) -> Steps:
    scene.order(change=replaced(('<ContactRef rRef="ct"/>', '<ContactRef rRef="gone"/>')))
    yield
    scene.order(change=replaced(('<ContactRef rRef="ct"/>', "")))


@provokes("ticket.reference-wrong-kind", "Correct the reference")
def test_a_reference_to_another_kind_of_resource(scene: Scene) -> Steps:
    scene.order(change=replaced(('rRef="mi"', 'rRef="li"')))
    yield
    scene.order()


@provokes("ticket.reference-out-of-sight", "the pool of a node that holds both")
def test_a_reference_into_the_pool_of_another_node(scene: Scene) -> Steps:
    component = '<Component ID="c1" Class="Quantity" Status="Unavailable" ComponentType="FinalProduct"/>'
    below = (
        f'<JDF ID="n2" Type="Product" Status="Waiting"><ResourcePool>{component}</ResourcePool></JDF></JDF>'
    )
    scene.order(change=replaced((component, ""), ("</JDF>", below)))
    yield
    scene.order()


@provokes("ticket.reference-loop", "take one of these references out")
def test_references_in_a_circle(scene: Scene) -> Steps:
    scene.order(
        change=replaced(
            (
                "<ResourcePool>",
                '<ResourcePool><RunList ID="r" Class="Parameter" Status="Available" rRefs="r"/>',
            )
        )
    )
    yield
    scene.order(AGAIN)


# Nodes and parts


@provokes("ticket.types-missing", "list the processes in Types")
def test_a_combined_node_that_does_not_say_what_it_combines(scene: Scene) -> Steps:
    scene.order(change=replaced(("</JDF>", '<JDF ID="n2" Type="Combined" Status="Waiting"/></JDF>')))
    yield
    scene.order(
        change=replaced(("</JDF>", '<JDF ID="n2" Type="Combined" Types="Cutting" Status="Waiting"/></JDF>'))
    )


@provokes("ticket.process-index-beyond", "Correct the index")
def test_an_index_beyond_the_processes(scene: Scene) -> Steps:
    how_to_print(scene, (LINKED_ROLL, LINKED_ROLL.replace('"2"', '"5"')))
    yield
    how_to_print(scene)


@provokes("ticket.element-twice", "put them together")
def test_a_pool_that_is_there_twice(scene: Scene) -> Steps:
    scene.order(change=replaced(("</JDF>", "<ResourceLinkPool/></JDF>")))
    yield
    scene.order()


@provokes("ticket.part-without-keys", "write PartIDKeys at the resource")
def test_parts_without_keys(scene: Scene) -> Steps:
    parts = '><Media Location="a"/>'
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(parts)))
    yield
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(f' PartIDKeys="Location"{parts}')))


@provokes("ticket.part-wrong-key", "in the order of PartIDKeys")
def test_a_part_with_the_key_of_another_level(scene: Scene) -> Steps:
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(' PartIDKeys="Location"><Media Run="1"/>')))
    yield
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(' PartIDKeys="Location"><Media Location="a"/>')))


@provokes("ticket.part-wrong-identical", "a part of the same level")
def test_a_part_that_is_identical_to_one_of_another_level(scene: Scene) -> Steps:
    two = ' PartIDKeys="Location Run"><Media Location="a"/><Media Location="b"><Identical><Part {}/></Identical></Media>'
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(two.format('Run="1"'))))
    yield
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(two.format('Location="a"'))))


@provokes("ticket.part-twice", "write each part once")
def test_a_part_that_is_there_twice(scene: Scene) -> Steps:
    part = '<Media Location="a"/>'
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(f' PartIDKeys="Location">{part}{part}')))
    yield
    how_to_print(scene, (SAMPLE_ROLL, PARTED.format(f' PartIDKeys="Location">{part}')))


# What is wanted


@provokes("ticket.kind-not-read", "send product intent")
def test_a_ticket_that_prints_nothing(scene: Scene) -> Steps:
    scene.drop(
        "cut.jdf", INTENT.replace('xsi:type="Product" ', "").replace('Type="Product"', 'Type="Cutting"')
    )
    yield
    scene.order()


@provokes("ticket.other-press", "MediaUnit Roll")
def test_work_for_a_press_that_takes_sheets(scene: Scene) -> Steps:
    how_to_print(scene, ('MediaUnit="Roll"', 'MediaUnit="Sheet"'))
    yield
    how_to_print(scene)


@provokes("ticket.not-active", "when its node is Active")
def test_a_node_that_must_not_run(scene: Scene) -> Steps:
    how_to_print(scene, ('JobID="HG-2"', 'JobID="HG-2" Activation="Inactive"'))
    yield
    how_to_print(scene, ('JobID="HG-2"', 'JobID="HG-2" Activation="Active"'))


@provokes("ticket.not-waiting", "Waiting or Ready")
def test_a_node_that_is_done(scene: Scene) -> Steps:
    how_to_print(scene, ('Status="Waiting"', 'Status="Completed"'))
    yield
    how_to_print(scene, ('Status="Waiting"', 'Status="Ready"'))


def _two_nodes(scene: Scene, job_id: str, status: str) -> str:
    """A group of two nodes that print, of which the second has this status; where it went."""
    one = changed(
        PROCESS, (f"JDF {NAMESPACE}", "JDF"), ('MediaUnit="Roll"', 'MediaUnit="Roll" ProductID="BAN510"')
    )
    two = changed(
        one,
        *((f'"{name}"', f'"{name}2"') for name in ("n1", "rl", "dp", "m", "c")),
        ('JobPartID="1"', 'JobPartID="2"'),
        ('Status="Waiting"', f'Status="{status}"'),
    )
    (scene.drop_folder() / "a.pdf").write_bytes(b"%PDF-1.7\n%%EOF\n")
    return scene.drop(
        "two.jdf",
        f'<JDF {NAMESPACE} ID="r" Type="ProcessGroup" Status="Waiting" JobID="{job_id}">{one}{two}</JDF>',
    )


@provokes("ticket.node-left-alone", "send it again when it is Active and Waiting")
def test_a_node_that_is_left_alone(scene: Scene) -> Steps:
    assert _two_nodes(scene, "HG-3", "Completed") == "accepted"
    yield
    assert _two_nodes(scene, "HG-4", "Waiting") == "accepted"


PARTS = PARTED.format(
    ' PartIDKeys="Location"><Media Location="a" Thickness="500"/><Media Location="b" Thickness="380"/>'
).replace(' Thickness="500" PartIDKeys', " PartIDKeys")


@provokes("ticket.part-not-there", "Correct the Part")
def test_a_part_that_is_not_there(scene: Scene) -> Steps:
    asked = LINKED_ROLL.replace("/>", '><Part Location="{}"/></MediaLink>')
    how_to_print(scene, (SAMPLE_ROLL, PARTS), (LINKED_ROLL, asked.format("c")))
    yield
    how_to_print(scene, (SAMPLE_ROLL, PARTS), (LINKED_ROLL, asked.format("a")))


@provokes("ticket.part-not-chosen", "name one with a Part")
def test_parts_that_differ(scene: Scene) -> Steps:
    how_to_print(scene, (SAMPLE_ROLL, PARTS))
    yield
    how_to_print(
        scene,
        (SAMPLE_ROLL, PARTS),
        (LINKED_ROLL, LINKED_ROLL.replace("/>", '><Part Location="a"/></MediaLink>')),
    )


@provokes("ticket.too-many-parts", "split the ticket")
def test_more_parts_than_a_press_needs(scene: Scene) -> Steps:
    leaves = "".join(f'<Media Location="r{number}"/>' for number in range(1000))
    asked = "".join(f'<Part Separation="s{number}"/>' for number in range(1000))
    many = PARTED.format(f' PartIDKeys="Location">{leaves}')
    how_to_print(
        scene, (SAMPLE_ROLL, many), (LINKED_ROLL, LINKED_ROLL.replace("/>", f">{asked}</MediaLink>"))
    )
    yield
    how_to_print(
        scene,
        (SAMPLE_ROLL, many),
        (LINKED_ROLL, LINKED_ROLL.replace("/>", '><Part Location="r7"/></MediaLink>')),
    )


@provokes("ticket.media-not-chosen", "Let CombinedProcessIndex say")
def test_two_substrates_for_one_piece(scene: Scene) -> Steps:
    liner = SAMPLE_ROLL.replace('ID="m"', 'ID="m2"')
    link = '<MediaLink rRef="m2" Usage="Input"/>'
    both = (SAMPLE_ROLL, SAMPLE_ROLL + liner)
    how_to_print(scene, both, (LINKED_ROLL, LINKED_ROLL + link))
    yield
    how_to_print(scene, both, (LINKED_ROLL, LINKED_ROLL + link.replace("/>", ' CombinedProcessIndex="1"/>')))


@provokes("ticket.more-than-one-page", "a node for each page")
def test_several_pages_for_one_piece(scene: Scene) -> Steps:
    how_to_print(scene, ('<RunList ID="rl"', '<RunList Pages="0 ~ 3" ID="rl"'))
    yield
    how_to_print(scene, ('<RunList ID="rl"', '<RunList Pages="3" ID="rl"'))


@provokes("ticket.scaling-not-served", "or write 1 1")
def test_artwork_that_should_be_scaled(scene: Scene) -> Steps:
    def scaled(by: str) -> tuple[tuple[str, str], ...]:
        params = f'<InterpretingParams ID="ip" Class="Parameter" Status="Available" Scaling="{by}"/>'
        link = '<ResourceLinkPool><InterpretingParamsLink rRef="ip" Usage="Input"/>'
        return (("<ResourcePool>", f"<ResourcePool>{params}"), ("<ResourceLinkPool>", link))

    how_to_print(scene, *scaled("10 10"))
    yield
    how_to_print(scene, *scaled("1 1"))


@provokes("ticket.no-item", "links its LayoutIntent and its MediaIntent")
def test_an_order_of_nothing(scene: Scene) -> Steps:
    def unlinked(data: bytes) -> bytes:
        return re.sub(
            rb"<(Layout|Media)Intent(Link)? [^>]*/>|<(Layout|Media)Intent .*?</(Layout|Media)Intent>",
            b"",
            data,
        )

    scene.order(change=unlinked)
    yield
    scene.order()


@provokes("ticket.value-missing", "Let the sender write it at")
def test_an_order_of_nobody_knows_how_many(scene: Scene) -> Steps:
    scene.order(change=replaced((' Amount="3"', "")))
    yield
    scene.order()


@provokes("ticket.value-unreadable", "Correct the value")
def test_a_size_that_is_none(scene: Scene) -> Steps:
    scene.order(change=replaced(('Preferred="4110.23622 4110.23622 0"', 'Preferred="4110.23622"')))
    yield
    scene.order()


@provokes("ticket.unit-doubtful", "JDF counts lengths in points")
def test_a_size_in_another_unit(scene: Scene) -> Steps:
    scene.order(change=replaced(("4110.23622 4110.23622 0", "1.45 1.45 0")))
    yield
    scene.order()


@provokes("ticket.quantity-not-whole", "count pieces")
def test_a_quantity_in_square_metres(scene: Scene) -> Steps:
    scene.order(change=replaced(('Amount="3"', 'Amount="7.4"')))
    yield
    scene.order()
