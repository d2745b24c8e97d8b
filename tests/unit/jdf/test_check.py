"""What is wrong with a document is said by name, with its place and what is allowed."""

import threading

import pytest

from tests.unit.jdf.tickets import GOLDEN, GOLDEN_TICKETS, MESSAGE, NAMESPACE, ORDER, changed, codes, root_of
from ticketbridge.jdf.check import check
from ticketbridge.jdf.schema_verdict import LARGE
from ticketbridge.model.codes import CODES, refuses, remedy, sentence
from ticketbridge.model.finding import Finding, Place

XSI = 'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"'


def findings(document: str | bytes) -> list[Finding]:
    found = check(root_of(document), "t.jdf")
    for finding in found:
        assert sentence(finding)
        assert remedy(finding)
    return found


@pytest.mark.parametrize("document", [ORDER, MESSAGE])
def test_the_least_that_works_is_right(document: str) -> None:
    assert findings(document) == []


@pytest.mark.parametrize("name", GOLDEN_TICKETS)
def test_golden_tickets_are_right(name: str) -> None:
    assert findings((GOLDEN / name).read_bytes()) == []


@pytest.mark.parametrize(
    ("document", "code", "fact"),
    [
        ("<JDF/>", "xml.wrong-root", "JDF without a namespace"),
        (
            f"<Media {NAMESPACE}/>",
            "xml.wrong-root",
            "Media in the namespace http://www.CIP4.org/JDFSchema_1_1",
        ),
        ('<html xmlns="urn:h"/>', "xml.wrong-root", "html in the namespace urn:h"),
        (
            '<XJDF xmlns="http://www.CIP4.org/JDFSchema_2_0"/>',
            "xml.wrong-namespace",
            "http://www.CIP4.org/JDFSchema_2_0",
        ),
        (
            '<JDF xmlns="http://www.CIP4.org/JDFSchema_1"/>',
            "xml.wrong-namespace",
            "http://www.CIP4.org/JDFSchema_1",
        ),
    ],
)
def test_another_root_is_refused_by_name(document: str, code: str, fact: str) -> None:
    (finding,) = findings(document)
    assert (finding.code, finding.facts["found"]) == (code, fact)


def test_a_wrong_word_is_refused_with_its_place_and_the_right_ones() -> None:
    (finding,) = findings(changed(ORDER, ('ID="li" Class="Intent"', 'ID="li" Sides="Both" Class="Intent"')))
    assert finding == Finding(
        "ticket.attribute-wrong",
        Place("t.jdf", 3, path="/JDF/ResourcePool/LayoutIntent/@Sides"),
        {
            "element": "LayoutIntent",
            "attribute": "Sides",
            "found": "Both",
            "allowed": "one of OneSided, OneSidedBack, TwoSidedHeadToHead, TwoSidedHeadToFoot, Unprinted",
        },
    )


def test_a_missing_attribute_is_refused_with_where_it_should_be() -> None:
    (finding,) = findings(changed(ORDER, (' DataType="NumberSpan"', "")))
    assert finding == Finding(
        "ticket.attribute-missing",
        Place("t.jdf", 7, path="/JDF/ResourcePool/MediaIntent/Thickness/@DataType"),
        {"element": "Thickness", "attribute": "DataType", "allowed": "NumberSpan"},
    )


def test_a_word_in_a_span_must_be_of_the_list_of_its_attribute() -> None:
    span = '<MediaType DataType="EnumerationSpan" Preferred="{}"/><Thickness'
    for word in ("Vinyl", "Transparency", "SelfAdhesive", "Film", "Synthetic"):
        assert findings(changed(ORDER, ("<Thickness", span.format(word)))) == []
    (finding,) = findings(changed(ORDER, ("<Thickness", span.format("Plastic"))))
    assert finding.place.path == "/JDF/ResourcePool/MediaIntent/MediaType/@Preferred"


def test_a_fixed_class_must_be_the_right_one() -> None:
    (finding,) = findings(changed(ORDER, ('ID="c" Class="Quantity"', 'ID="c" Class="Consumable"')))
    assert (finding.facts["attribute"], finding.facts["allowed"]) == ("Class", "Quantity")


def test_text_between_elements_is_refused_by_its_words() -> None:
    (finding,) = findings(changed(ORDER, ("</ResourcePool>", "five pieces</ResourcePool>")))
    assert finding.code == "ticket.structure-wrong"
    assert finding.place == Place("t.jdf", 2, path="/JDF/ResourcePool")
    assert "five pieces" in sentence(finding)


@pytest.mark.parametrize("xsi_type", ["Product", "jdf:Product", "Combined", "x:NobodyKnows", ""])
def test_xsi_type_refuses_nothing(xsi_type: str) -> None:
    assert findings(changed(ORDER, ("<JDF ", f'<JDF {XSI} xsi:type="{xsi_type}" '))) == []


def test_foreign_words_refuse_nothing() -> None:
    foreign = '<ResourcePool xmlns:x="urn:x"><x:Roll Thickness="-5" ID="r"/><Media x:y="z" ID="m" Class="Consumable" Status="Available"/>'
    assert findings(changed(ORDER, ("<ResourcePool>", foreign))) == []


def test_findings_are_the_same_in_a_large_document() -> None:
    padding = '<SeparationSpec Name="Cyan"/>' * (LARGE + 10)
    colour = f'<ColorIntent ID="co" Class="Intent" Status="Available"><ColorsUsed>{padding}</ColorsUsed></ColorIntent>'
    wrong = changed(ORDER, ('Preferred="500"', 'Preferred="thick"'), (' ComponentType="FinalProduct"', ""))
    large = changed(wrong, ("</ResourcePool>", f"{colour}</ResourcePool>"))
    assert findings(large) == findings(wrong)
    assert codes(findings(wrong)) == ["ticket.attribute-wrong", "ticket.attribute-missing"]


def test_threads_do_not_mix_their_findings() -> None:
    wrong = [changed(ORDER, ('Status="Waiting"', f'Status="Wrong{number}"')) for number in range(4)]
    results: dict[int, set[object]] = {}

    def look(number: int) -> None:
        results[number] = {finding.facts["found"] for _ in range(50) for finding in findings(wrong[number])}

    threads = [threading.Thread(target=look, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert results == {number: {f"Wrong{number}"} for number in range(4)}


# References


def test_a_reference_to_nowhere_is_refused() -> None:
    (finding,) = findings(changed(ORDER, ('rRef="mi"', 'rRef="gone"')))
    assert (finding.code, finding.place.path) == (
        "ticket.reference-dangling",
        "/JDF/ResourceLinkPool/MediaIntentLink/@rRef",
    )
    assert CODES[finding.code].return_code == 203


def test_a_link_to_another_kind_of_resource_is_refused() -> None:
    (finding,) = findings(changed(ORDER, ('rRef="mi"', 'rRef="li"')))
    assert (finding.code, finding.facts["found"], finding.facts["expected"]) == (
        "ticket.reference-wrong-kind",
        "LayoutIntent",
        "MediaIntent",
    )


def test_a_reference_in_a_resource_to_another_kind_is_refused() -> None:
    layout = '<Layout ID="ly" Class="Parameter" Status="Available"><MediaRef rRef="c"/></Layout>'
    assert codes(findings(changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{layout}")))) == [
        "ticket.reference-wrong-kind"
    ]


CHILD = (
    '<JDF ID="n2" Type="Product" Status="Waiting">'
    '<ResourcePool><Component ID="c2" Class="Quantity" Status="Available" ComponentType="FinalProduct"/></ResourcePool>'
    '<ResourceLinkPool><MediaIntentLink rRef="mi" Usage="Input"/><ComponentLink rRef="c2" Usage="Output"/></ResourceLinkPool>'
    "</JDF></JDF>"
)


def test_a_node_sees_the_pools_above_it() -> None:
    assert findings(ORDER.removesuffix("</JDF>") + CHILD) == []


def test_a_node_does_not_see_the_pools_below_it() -> None:
    document = ORDER.removesuffix("</JDF>") + CHILD
    (finding,) = findings(changed(document, ('rRef="c" Usage', 'rRef="c2" Usage')))
    assert finding.code == "ticket.reference-out-of-sight"


def test_a_link_to_a_resource_of_another_namespace_is_its_owners_business() -> None:
    foreign = '<ResourcePool xmlns:x="urn:x"><x:Frame ID="f"/>'
    link = '<FrameLink rRef="f" Usage="Input"/></ResourceLinkPool>'
    assert findings(changed(ORDER, ("<ResourcePool>", foreign), ("</ResourceLinkPool>", link))) == []


# Single values


def test_version_1_0_contradicts_its_namespace() -> None:
    (finding,) = findings(changed(ORDER, ('Version="1.7"', 'Version="1.0"')))
    assert (finding.code, finding.place.path) == ("ticket.version-not-read", "/JDF/@Version")


@pytest.mark.parametrize("version", ["1.10", "2.0", "", "1", "x"])
def test_an_unknown_version_is_refused(version: str) -> None:
    assert codes(findings(changed(ORDER, ('Version="1.7"', f'Version="{version}"')))) == [
        "ticket.attribute-wrong"
    ]


def test_a_missing_version_is_accepted() -> None:
    assert findings(changed(ORDER, (' Version="1.7"', ""))) == []


def test_max_version_must_not_be_below_version() -> None:
    assert findings(changed(ORDER, ('Version="1.7"', 'Version="1.7" MaxVersion="1.7"'))) == []
    (finding,) = findings(changed(ORDER, ('Version="1.7"', 'Version="1.7" MaxVersion="1.6"')))
    assert (finding.code, finding.facts["max_version"]) == ("ticket.max-version-below", "1.6")


def test_a_time_without_a_zone_is_only_a_warning() -> None:
    found = findings(changed(MESSAGE, ("12:00:00Z", "12:00:00")))
    assert codes(found) == ["ticket.time-without-zone"]
    assert not refuses(found)


@pytest.mark.parametrize("time", ["2026-03-09T12:00:00Z", "2026-03-09T12:00:00.5+05:30", "INF"])
def test_a_time_with_a_zone_is_right(time: str) -> None:
    assert findings(changed(MESSAGE, ("2026-03-09T12:00:00Z", time))) == []


# Messages


@pytest.mark.parametrize(
    "attribute", ['ID="s1"', 'Type="Status"', 'DeviceStatus="Running"', 'SenderID="press"']
)
def test_a_message_without_what_it_must_have_is_refused(attribute: str) -> None:
    assert codes(findings(changed(MESSAGE, (f"{attribute}", "")))) == ["ticket.attribute-missing"]


def test_two_messages_with_one_id_are_refused() -> None:
    again = '<Signal ID="s1" Type="Status"/></JMF>'
    assert codes(findings(changed(MESSAGE, ("</JMF>", again)))) == ["ticket.id-twice"]


def test_an_unknown_kind_of_message_is_right() -> None:
    assert findings(changed(MESSAGE, ('Type="Status"', 'Type="SomethingNew"'))) == []
