"""One document for every class of hostile or faulty XML; each is refused or safe, in bounded time."""

import codecs
from pathlib import Path

import pytest

from tests.unit.jdf.tickets import LIMITS, MESSAGE, NAMESPACE, ORDER, changed, codes
from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.validate import validate_document
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import printable, refuses, remedy, sentence

pytestmark = pytest.mark.timeout(60)

NESTED = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 11))
DECLARED = '<?xml version="1.0" encoding="{}"?>'


def in_doctype(declarations: str, body: str = "&e;") -> bytes:
    return f"<!DOCTYPE JDF [{declarations}]><JDF>{body}</JDF>".encode()


DOCTYPES = {
    "nested entity expansion": in_doctype('<!ENTITY e0 "ha">' + NESTED, "&e10;"),
    "quadratic expansion": in_doctype(f'<!ENTITY e "{"x" * 50_000}">', "&e;" * 5_000),
    "entities that refer to each other": in_doctype('<!ENTITY e "&f;"><!ENTITY f "&e;">'),
    "an external entity in a file": in_doctype('<!ENTITY e SYSTEM "file:///etc/hostname">'),
    "an external entity on this machine": in_doctype('<!ENTITY e SYSTEM "http://127.0.0.1:9/">'),
    "an external entity in a pipe": in_doctype('<!ENTITY e SYSTEM "file:///dev/stdin">'),
    "an external parameter entity": in_doctype('<!ENTITY % e SYSTEM "file:///etc/hostname"> %e;', ""),
    "any document type at all": b"<!DOCTYPE JDF><JDF/>",
    "an external document type": b'<!DOCTYPE JDF SYSTEM "http://127.0.0.1:9/jdf.dtd"><JDF/>',
}


@pytest.mark.parametrize("name", DOCTYPES)
def test_a_document_type_is_refused_before_anything_is_expanded(name: str) -> None:
    with pytest.raises(XmlRefused) as refused:
        parse(DOCTYPES[name], LIMITS, "t.jdf")
    assert codes(refused.value.findings) == ["xml.doctype"]


REFUSED = {
    "deep nesting": (b"<a>" * 100_000, "xml.not-well-formed"),
    "deep nesting, closed": (b"<a>" * 200 + b"</a>" * 200, "xml.too-much"),
    "attribute flood": (
        b"<a " + b" ".join(b'a%d=""' % n for n in range(100_000)) + b"/>",
        "xml.too-much",
    ),
    "element flood": (b"<a>" + b"<b/>" * 3_000_000 + b"</a>", "xml.too-much"),
    "many namespaces": (
        b"<a " + b" ".join(b'xmlns:n%d="u%d"' % (n, n) for n in range(50_000)) + b"/>",
        "xml.too-much",
    ),
    "a default namespace declared again and again": (
        b"<a>" + b'<b xmlns="u"/>' * 50_000 + b"</a>",
        "xml.too-much",
    ),
    "duplicate attributes": (b'<a b="1" b="2"/>', "xml.not-well-formed"),
    "huge text": (b"<a>" + b"x" * (20 * 1024 * 1024) + b"</a>", "xml.too-large"),
    "huge attribute value": (b'<a b="' + b"x" * (20 * 1024 * 1024) + b'"/>', "xml.too-large"),
    "huge comment": (b"<a><!--" + b"x" * (20 * 1024 * 1024) + b"--></a>", "xml.too-large"),
    "huge instruction": (b"<a><?b " + b"x" * (20 * 1024 * 1024) + b"?></a>", "xml.too-large"),
    "huge section": (b"<a><![CDATA[" + b"x" * (20 * 1024 * 1024) + b"]]></a>", "xml.too-large"),
    "UTF-8 label on Latin-1 bytes": (b"<a>\xe4</a>", "xml.encoding-contradicted"),
    "UTF-16 label on UTF-8 bytes": (
        DECLARED.format("UTF-16").encode() + b"<a/>",
        "xml.encoding-contradicted",
    ),
    "ASCII label on other bytes": (
        DECLARED.format("US-ASCII").encode() + b"<a>\xc3\xa4</a>",
        "xml.encoding-contradicted",
    ),
    "UTF-16 without a mark": ("<a/>".encode("utf-16-le"), "xml.encoding-not-read"),
    "UTF-16 without a mark, the other way round": ("<a/>".encode("utf-16-be"), "xml.encoding-not-read"),
    "UTF-32": ("<a/>".encode("utf-32"), "xml.encoding-not-read"),
    "UTF-32 without a mark": ("<a/>".encode("utf-32-be"), "xml.encoding-not-read"),
    "UTF-7": (DECLARED.format("UTF-7").encode() + b"<a>+AOQ-</a>", "xml.encoding-not-read"),
    "EBCDIC": ('<?xml version="1.0" encoding="IBM037"?><a/>'.encode("cp037"), "xml.encoding-not-read"),
    "HZ": (DECLARED.format("HZ-GB-2312").encode() + b"<a/>", "xml.encoding-not-read"),
    "ISO-2022": (DECLARED.format("ISO-2022-JP").encode() + b"<a/>", "xml.encoding-not-read"),
    "overlong UTF-8": (b"<a>\xc0\xbc</a>", "xml.encoding-contradicted"),
    "a lone surrogate": (b"<a>\xed\xa0\x80</a>", "xml.encoding-contradicted"),
    "a reference to a surrogate": (b"<a>&#xD800;</a>", "xml.not-well-formed"),
    "a code point that is no character": ("<a>\ufdd0</a>".encode(), "xml.encoding-contradicted"),
    "two byte order marks": (codecs.BOM_UTF8 * 2 + b"<a/>", "xml.encoding-contradicted"),
    "a byte order mark behind the root": (b"<a/>" + codecs.BOM_UTF8, "xml.not-well-formed"),
    "a mark with another encoding declared": (
        codecs.BOM_UTF8 + DECLARED.format("ISO-8859-1").encode() + b"<a/>",
        "xml.encoding-contradicted",
    ),
    "half a UTF-16 character": ("<a/>".encode("utf-16")[:-1], "xml.encoding-contradicted"),
    "NUL in a name": (b"<a\x00b/>", "xml.not-well-formed"),
    "a control character in text": (b"<a>\x01</a>", "xml.not-well-formed"),
    "a reference to NUL": (b"<a>&#0;</a>", "xml.not-well-formed"),
    "half a file": (ORDER.encode()[: len(ORDER) // 2], "xml.not-well-formed"),
    "two roots": (b"<a/><b/>", "xml.not-well-formed"),
    "junk behind the root": (b"<a/>junk", "xml.not-well-formed"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_hostile_bytes_are_refused_by_name(name: str) -> None:
    data, expected = REFUSED[name]
    with pytest.raises(XmlRefused) as refused:
        parse(data, LIMITS, "t.jdf")
    (finding,) = refused.value.findings
    assert finding.code == expected
    assert sentence(finding)
    assert remedy(finding)


def test_xinclude_is_an_unknown_element(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("secret", encoding="utf-8")
    include = f'<i:include xmlns:i="http://www.w3.org/2001/XInclude" href="{tmp_path}/secret" parse="text"/>'
    document = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{include}")).encode()
    root = parse(document, LIMITS, "t.jdf")
    assert check(root, "t.jdf") == []
    assert b"secret</" not in as_bytes(root)


def test_schema_hints_are_not_followed() -> None:
    hint = (
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        'xsi:schemaLocation="http://www.CIP4.org/JDFSchema_1_1 http://127.0.0.1:9/any.xsd" '
        'xsi:noNamespaceSchemaLocation="//127.0.0.1/share/any.xsd"'
    )
    assert validate_document(changed(ORDER, ("<JDF ", f"<JDF {hint} ")).encode(), LIMITS, "t.jdf") == []


def test_a_stylesheet_instruction_is_ignored() -> None:
    document = b'<?xml-stylesheet href="file:///etc/hostname" type="text/xsl"?>' + ORDER.encode()
    assert validate_document(document, LIMITS, "t.jdf") == []


def test_the_right_name_in_a_wrong_namespace_is_not_jdf() -> None:
    findings = validate_document(b'<JDF xmlns="urn:else"/>', LIMITS, "t.jdf")
    assert codes(findings) == ["xml.wrong-root"]


def test_duplicate_ids_are_reported_with_both_lines() -> None:
    (finding,) = validate_document(
        changed(ORDER, ('ID="mi"', 'ID="li"'), ('rRef="mi"', 'rRef="li"')).encode(), LIMITS, "t"
    )[:1]
    assert (finding.code, finding.place.line, finding.facts["first_line"]) == ("ticket.id-twice", 6, 3)


def test_direction_marks_in_a_name_are_data_and_shown_escaped() -> None:
    root = parse(changed(ORDER, ('JobID="HG-1"', 'JobID="HG\u202e1"')).encode(), LIMITS, "t.jdf")
    ticket, findings = read_ticket(root, "t.jdf")
    assert findings == []
    assert ticket.values["job_id"].value == "HG\u202e1"
    assert printable("HG\u202e1") == "HG\\u202e1"


@pytest.mark.parametrize(
    "number",
    ["NaN", "INF", "-INF", "1e309", "0x1F4", "1,5", "1 000", "1_000", "9999999999999999999", "-5", "0", ""],
)
def test_a_thickness_that_is_no_sensible_number_is_refused_by_name(number: str) -> None:
    document = changed(ORDER, ('Preferred="500"', f'Preferred="{number}"'))
    findings = validate_document(document.encode(), LIMITS, "t.jdf")
    assert [(finding.code, finding.place.path) for finding in findings] == [
        ("ticket.attribute-wrong", "/JDF/ResourcePool/MediaIntent/Thickness/@Preferred")
    ]


@pytest.mark.parametrize("number", ["-1", "-0.5", "NaN", "INF", "1e309", "4,5", "four", "9" * 5000])
def test_an_amount_that_is_no_sensible_number_is_refused(number: str) -> None:
    findings = validate_document(
        changed(ORDER, ('Amount="4"', f'Amount="{number}"')).encode(), LIMITS, "t.jdf"
    )
    assert codes(findings) == ["ticket.attribute-wrong"]


@pytest.mark.parametrize("number", ["0", "-0", "4.5", "1e300"])
def test_an_amount_that_is_no_count_makes_no_order(number: str) -> None:
    root = parse(changed(ORDER, ('Amount="4"', f'Amount="{number}"')).encode(), LIMITS, "t.jdf")
    ticket, findings = read_ticket(root, "t.jdf")
    assert refuses([*check(root, "t.jdf"), *findings])
    assert number == "1e300" or "quantity" not in ticket.items[0].values


def test_a_size_of_zero_is_doubted_by_name() -> None:
    document = changed(ORDER, ("2834.646 1417.323 0", "0 1417.323 0"))
    (finding,) = validate_document(document.encode(), LIMITS, "t.jdf")
    assert (finding.code, finding.facts["what"]) == ("ticket.unit-doubtful", "finished width")


def with_due(time: str) -> bytes:
    node_info = f'<NodeInfo LastEnd="{time}"/><ResourcePool>'
    return changed(ORDER, ("<ResourcePool>", node_info)).encode()


@pytest.mark.parametrize(
    "time", ["2026-02-31T12:00:00Z", "2026-12-31T23:59:60Z", "0000-01-01T00:00:00Z", "tomorrow", "2026-03-09"]
)
def test_a_time_that_does_not_exist_is_refused(time: str) -> None:
    findings = validate_document(with_due(time), LIMITS, "t.jdf")
    assert "ticket.attribute-wrong" in codes(findings)


def test_24_hours_is_midnight_at_the_end_of_the_day() -> None:
    ticket, _ = read_ticket(parse(with_due("2026-02-28T24:00:00Z"), LIMITS, "t.jdf"), "t.jdf")
    assert str(ticket.values["due"].value) == "2026-03-01 00:00:00+00:00"


def test_a_year_beyond_every_calendar_is_refused_and_crashes_nothing() -> None:
    findings = validate_document(with_due("12026-03-01T00:00:00Z"), LIMITS, "t.jdf")
    assert codes(findings) == ["ticket.value-unreadable"]


def test_a_time_without_a_zone_is_a_warning_and_taken_as_utc() -> None:
    data = with_due("2026-03-01T10:00:00")
    assert codes(validate_document(data, LIMITS, "t.jdf")) == ["ticket.time-without-zone"]
    ticket, _ = read_ticket(parse(data, LIMITS, "t.jdf"), "t.jdf")
    assert str(ticket.values["due"].value) == "2026-03-01 10:00:00+00:00"


def test_resources_that_refer_to_each_other_are_reported_and_read() -> None:
    loop = (
        '<Contact ID="a" Class="Parameter" Status="Available" ContactTypes="Customer"><CompanyRef rRef="b"/></Contact>'
        '<Company ID="b" Class="Parameter" Status="Available" OrganizationName="X"><ContactRef rRef="a"/></Company>'
        '<CustomerInfo ID="ci" Class="Parameter" Status="Available"><ContactRef rRef="a"/></CustomerInfo>'
    )
    data = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{loop}")).encode()
    assert codes(validate_document(data, LIMITS, "t.jdf")) == ["ticket.reference-loop"]
    ticket, _ = read_ticket(parse(data, LIMITS, "t.jdf"), "t.jdf")
    assert ticket.values["customer_name"].value == "X"


def test_a_resource_that_refers_to_itself_is_reported() -> None:
    loop = '<RunList ID="r" Class="Parameter" Status="Available" rRefs="r"/>'
    data = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{loop}")).encode()
    assert codes(validate_document(data, LIMITS, "t.jdf")) == ["ticket.reference-loop"]


def test_a_link_to_a_link_is_of_the_wrong_kind() -> None:
    data = changed(ORDER, ('rRef="c" Usage="Output"', 'ID="x" rRef="x" Usage="Output"')).encode()
    assert "ticket.reference-wrong-kind" in codes(validate_document(data, LIMITS, "t.jdf"))


def test_a_chain_of_ten_thousand_references_is_followed_without_recursion() -> None:
    chain = "".join(
        f'<RunList ID="r{n}" Class="Parameter" Status="Available" rRefs="r{n + 1}"/>' for n in range(10_000)
    )
    last = '<RunList ID="r10000" Class="Parameter" Status="Available" rRefs="r0"/>'
    data = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{chain}{last}")).encode()
    assert codes(validate_document(data, LIMITS, "t.jdf")) == ["ticket.reference-loop"]


def test_quotes_in_a_name_are_no_path_expression() -> None:
    data = changed(ORDER, ('JobID="HG-1"', "JobID=\"'] | //* | /JDF['\"")).encode()
    assert validate_document(data, LIMITS, "t.jdf") == []


@pytest.mark.parametrize("name", ["HG&#13;&#10;Set: 1", "HG&#10;1", "HG&#9;1", "HG&#x85;1", "HG&#x2028;1"])
def test_line_breaks_in_the_name_of_the_job_are_refused(name: str) -> None:
    findings = validate_document(
        changed(ORDER, ('JobID="HG-1"', f'JobID="{name}"')).encode(), LIMITS, "t.jdf"
    )
    assert codes(findings) == ["ticket.control-character"]
    assert sentence(findings[0]).isprintable()


def test_line_breaks_in_a_messages_job_are_refused_too() -> None:
    data = changed(MESSAGE, ("<JobPhase ", '<JobPhase JobID="a&#10;b" ')).encode()
    assert codes(validate_document(data, LIMITS, "t.jmf")) == ["ticket.control-character"]


@pytest.mark.parametrize("value", ["1" * 60_000 + "x", "1 " * 30_000 + "x", "~" * 60_000, "0~" * 30_000])
def test_long_values_meet_patterns_that_take_linear_time(value: str) -> None:
    art = f'<RunList ID="r" Class="Parameter" Status="Available" Pages="{value}"/>'
    data = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{art}")).encode()
    assert codes(validate_document(data, LIMITS, "t.jdf")) == ["ticket.attribute-wrong"]


def test_two_hundred_thousand_faults_on_one_line_end_after_fifty() -> None:
    faults = '<SeparationSpec Name="&#10;"/><ObjectResolution/>' * 40_000
    rendering = f'<RenderingParams ID="r" Class="Parameter" Status="Available">{faults}</RenderingParams>'
    document = f'<JDF {NAMESPACE} ID="n" Type="Product" Status="Waiting"><ResourcePool>{rendering}</ResourcePool></JDF>'
    findings = validate_document(document.encode(), LIMITS, "t.jdf")
    assert codes(findings) == ["ticket.attribute-missing"] * 50 + ["ticket.more-findings"]


def test_one_fault_among_many_elements_on_one_line_is_found() -> None:
    objects = '<ContentObject CTM="1 0 0 1 0 0"/>' * 40_000 + '<ContentObject CTM="1 0 0 1 0"/>'
    layout = f'<Layout ID="r" Class="Parameter" Status="Available">{objects}</Layout>'
    document = (
        f'<JDF {NAMESPACE} ID="n" Type="Product" Status="Waiting"><ResourcePool>{layout}</ResourcePool></JDF>'
    )
    (finding,) = validate_document(document.encode(), LIMITS, "t.jdf")
    assert finding.place.path == "/JDF/ResourcePool/Layout/ContentObject[40001]/@CTM"


def test_a_hundred_thousand_dangling_references_end_after_fifty() -> None:
    links = '<MediaLink rRef="nowhere" Usage="Input"/>' * 100_000
    document = f'<JDF {NAMESPACE} ID="n" Type="Product" Status="Waiting"><ResourceLinkPool>{links}</ResourceLinkPool></JDF>'
    findings = validate_document(document.encode(), LIMITS, "t.jdf")
    assert codes(findings) == ["ticket.reference-dangling"] * 50 + ["ticket.more-findings"]


def test_namespaces_up_to_their_limit_cost_little() -> None:
    declared = " ".join(f'xmlns:n{n}="u{n}"' for n in range(990))
    foreign = '<n989:x n0:a="1"/>' * 20_000
    document = f'<JDF {NAMESPACE} {declared} ID="n" Type="Product" Status="Waiting">{foreign}</JDF>'
    assert validate_document(document.encode(), LIMITS, "t.jdf") == []
