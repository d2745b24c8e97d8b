"""Bytes become a tree, or a finding that says why not."""

import pytest

from tests.unit.jdf.tickets import LIMITS, ORDER, codes
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.shop import Limits


def refusal(data: bytes, limits: Limits = LIMITS) -> Finding:
    with pytest.raises(XmlRefused) as caught:
        parse(data, limits, "t.jdf")
    (finding,) = caught.value.findings
    assert sentence(finding)
    assert remedy(finding)
    return finding


def test_a_ticket_becomes_a_tree_with_its_lines() -> None:
    root = parse(ORDER.encode(), LIMITS, "t.jdf")
    layout_intent = root[0][0]
    assert layout_intent.sourceline == 3


@pytest.mark.parametrize("encoding", ["utf-8", "us-ascii", "utf-16", "iso-8859-1", "windows-1252"])
def test_every_supported_encoding_is_read(encoding: str) -> None:
    text = f'<?xml version="1.0" encoding="{encoding}"?>\n<JDF DescriptiveName="{"Tur" if "ascii" in encoding else "Tür"}"/>'
    root = parse(text.encode(encoding), LIMITS, "t.jdf")
    assert root.get("DescriptiveName") == ("Tur" if "ascii" in encoding else "Tür")


def test_a_file_without_a_declaration_is_utf_8() -> None:
    assert parse("<JDF A='ü'/>".encode(), LIMITS, "t.jdf").get("A") == "ü"


def test_one_byte_order_mark_is_taken_off() -> None:
    assert parse(b"\xef\xbb\xbf<JDF A='x'/>", LIMITS, "t.jdf").get("A") == "x"


def test_a_large_file_is_refused_before_anything_looks_at_it() -> None:
    finding = refusal(b"\x00" * 101, Limits(ticket_bytes=100))
    assert finding == Finding("xml.too-large", Place("t.jdf"), {"size": 101, "limit": 100})


def test_what_is_not_well_formed_has_a_line_and_a_column() -> None:
    finding = refusal(b"<JDF>\n  <A></B>\n</JDF>")
    assert (finding.code, finding.place) == ("xml.not-well-formed", Place("t.jdf", 2, 10))


def test_a_doctype_is_refused_with_its_line() -> None:
    finding = refusal(b"<?xml version='1.0'?>\n<!-- a -->\n<?b?>\n<!DOCTYPE JDF>\n<JDF/>")
    assert (finding.code, finding.place.line) == ("xml.doctype", 4)


@pytest.mark.parametrize(
    "text",
    [
        "<!-- <!DOCTYPE a> --><JDF/>",
        "<?note <!DOCTYPE a> ?><JDF/>",
        "<JDF><![CDATA[<!DOCTYPE a>]]></JDF>",
        "<JDF><!-- <!DOCTYPE a> --></JDF>",
        "<JDF A='&lt;!DOCTYPE a>'/>",
    ],
)
def test_the_word_doctype_alone_refuses_nothing(text: str) -> None:
    assert parse(text.encode(), LIMITS, "t.jdf").tag == "JDF"


def test_depth_is_limited() -> None:
    limits = Limits(depth=5)
    parse(b"<a>" * 5 + b"</a>" * 5, limits, "t.jdf")
    finding = refusal(b"<a>" * 6 + b"</a>" * 6, limits)
    assert finding.facts == {"limit": 5, "what": "elements inside each other"}


def test_elements_are_limited() -> None:
    limits = Limits(elements=10)
    parse(b"<a>" + b"<b/>" * 9 + b"</a>", limits, "t.jdf")
    assert refusal(b"<a>" + b"<b/>" * 10 + b"</a>", limits).facts == {"limit": 10, "what": "elements"}
    assert refusal(b"<a>" + b"<b/>" * 99 + b"</a>", limits).facts == {"limit": 10, "what": "elements"}


def test_attributes_of_one_element_are_limited() -> None:
    limits = Limits(attributes_per_element=3)
    parse(b"<a b='1' c='1' d='1'><e f='1'/></a>", limits, "t.jdf")
    finding = refusal(b"<a><b c='1' d='1' e='1' f='1'/></a>", limits)
    assert finding.facts == {"limit": 3, "what": "attributes on one element"}


def test_namespace_declarations_are_limited() -> None:
    declarations = b" ".join(b"xmlns:n%d='u'" % number for number in range(1001))
    finding = refusal(b"<a " + declarations + b"/>")
    assert finding.facts == {"limit": 1000, "what": "namespace declarations"}


def test_an_empty_file_is_not_well_formed() -> None:
    assert codes([refusal(b"")]) == ["xml.not-well-formed"]
