"""Rows of a mapping against XML, JSON and workbooks: what they take, what they refuse, and that nothing hangs."""

import io
import json
import zipfile
from typing import Any

import openpyxl
import pytest

from ticketbridge.accept.readers.by_mapping import Tickets, read_by_mapping
from ticketbridge.accept.readers.choose import read_orders
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.lookup import LookupTable
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.shop import Limits
from ticketbridge.model.ticket import Ticket

NEEDED = {
    "job_id": "@no", "quantity": "n", "finished_width_mm": "w", "finished_height_mm": "h", "artwork_url": "f",
}  # fmt: skip
XML = '<x><o no="A1"><n>2</n><w>1000</w><h>500</h><f>a.pdf</f>{more}</o></x>'


def mapping(kind: str, *rows: dict[str, Any], tables: dict[str, Any] | None = None, **reads: Any) -> Mapping:
    given = {row["field"] for row in rows}
    fields = [{"field": name, "at": at} for name, at in NEEDED.items() if name not in given]
    if kind == "json":
        fields = [{**one, "at": "/" + one["at"].lstrip("@")} for one in fields]
    return Mapping.model_validate(
        {
            "reads": {"kind": kind, "fields": [*fields, *rows], **reads},
            "tables": tables or {},
            "print_modes": [{"print_mode": "fine-8"}],
        }
    )


def xml(*rows: dict[str, Any], more: str = "", **reads: Any) -> Tickets:
    data = XML.format(more=more).encode()
    return read_by_mapping(data, mapping("xml", *rows, orders="/x/o", **reads), Limits(), "UTC", "o.xml")


def one(found: Tickets) -> Ticket:
    [(ticket, findings)] = found
    assert (ticket is not None, findings) == (True, ())
    return ticket  # type: ignore[return-value]


def codes(found: Tickets) -> list[str]:
    return [f"{finding.code} {finding.place}" for _, findings in found for finding in findings]


def value(found: Tickets, name: str) -> Any:
    ticket = one(found)
    return (ticket.values.get(name) or ticket.items[0].values[name]).value


@pytest.mark.parametrize(
    ("row", "more", "means"),
    [
        ({"field": "bleed_mm", "at": "b"}, "<b> 5 </b>", 5),
        ({"field": "bleed_mm", "at": "b/@mm"}, '<b mm="5"/>', 5),
        ({"field": "bleed_mm", "at": "b * 10"}, "<b>5</b>", 50),
        ({"field": "bleed_mm", "at": "xpath31: if (b/@u = 'cm') then b * 10 else b"}, '<b u="cm">0.5</b>', 5),
        ({"field": "bleed_mm", "at": "b", "unit": "in"}, "<b>1/8</b>", 3.175),
        ({"field": "bleed_mm", "at": "b", "unit": "as written"}, "<b>5 mm</b>", 5),
        ({"field": "bleed_mm", "at": "b", "decimal_sign": "comma"}, "<b>2,5</b>", 2.5),
        ({"field": "thickness_um", "at": "t", "unit": "mil"}, "<t>20</t>", 508),
        ({"field": "weight_g_m2", "at": "t", "unit": "oz/yd2"}, "<t>15</t>", 508.586),
        ({"field": "due", "at": "d", "date_format": "ISO 8601"}, "<d>2026-11-30T17:30:00+01:00</d>", "2026-11-30T17:30:00+01:00"),
        ({"field": "due", "at": "d", "date_format": "ISO 8601"}, "<d>2026-11-30</d>", "2026-11-30T23:59:59+00:00"),
        ({"field": "separations", "at": "i"}, "<i>Cyan, Black</i><i>White</i>", ("Cyan", "Black", "White")),
        ({"field": "hem", "at": "m", "unit": "cm"}, "<m>3 top bottom</m>", ("30", "top", "bottom")),
        ({"field": "eyelets", "at": "e"}, "<e>25 25; 25 475</e>", ("25 25", "25 475")),
        ({"field": "layer_stack", "at": "l"}, "<l>white, colour</l>", "White Color"),
        ({"field": "may_rotate", "at": "r"}, "<r>No</r>", False),
        ({"field": "stock_brand", "at": "s"}, "<s>Banner\n   <b>510</b></s>", "Banner 510"),
        ({"field": "stock_brand", "at": "s", "split_at": "/", "piece": 2}, "<s>X / Banner</s>", "Banner"),
        ({"field": "stock_brand", "at": "s", "only_when": {"at": "k", "says": ["a", "B"]}}, "<s>Y</s><k> b </k>", "Y"),
        ({"field": "stock_brand", "default": "Z", "only_when": {"at": "@no", "says": ["a1"]}}, "", "Z"),
        ({"field": "artwork_page", "at": "p", "default": 3}, "<p/>", 3),
    ],
)  # fmt: skip
def test_a_row_takes_a_value_as_it_is_spelled(row: dict[str, Any], more: str, means: Any) -> None:
    found = value(xml(row, more=more), row["field"])

    assert (found.isoformat() if hasattr(found, "isoformat") else found) == (
        pytest.approx(means) if isinstance(means, float) else means
    )


def test_of_several_rows_for_a_field_the_first_that_gives_a_value_wins() -> None:
    rows = [{"field": "stock_brand", "at": at} for at in ("s1", "s2", "s3")]

    assert value(xml(*rows, more="<s2>Two</s2><s3>Three</s3>"), "stock_brand") == "Two"


@pytest.mark.parametrize(
    ("row", "more", "told"),
    [
        ({"field": "bleed_mm", "at": "b"}, "<b>wide</b>", "export.value o.xml:1 /x/o/b"),
        ({"field": "bleed_mm", "at": "b"}, "<b>1</b><b>2</b>", "export.several o.xml:1 /x/o/b[1]"),
        ({"field": "customer_id", "at": "c", "required": True}, "", "export.missing o.xml:1 /x/o"),
        ({"field": "stock_brand", "at": "s", "table": "t"}, "<s>Other</s>", "export.no-row o.xml:1 /x/o/s"),
        ({"field": "due", "at": "d"}, "<d>30.11.2026</d>", "export.value o.xml:1 /x/o/d"),
    ],
)
def test_a_value_that_cannot_be_used_refuses_its_order_at_its_place(
    row: dict[str, Any], more: str, told: str
) -> None:
    tables = {"t": {"rows": [{"says": "S1", "means": "Banner"}]}}
    data = XML.format(more=more).encode()
    found = read_by_mapping(data, mapping("xml", row, tables=tables, orders="/x/o"), Limits(), "UTC", "o.xml")

    assert codes(found) == [told] or codes(found) == [f"{told} part 1"] or told in codes(found)[0]
    [(_, findings)] = found
    assert all(sentence(finding) and remedy(finding) for finding in findings)


@pytest.mark.parametrize(("no_row", "found"), [("keep", "Other"), ("use default", "Usual"), ("skip", "Last")])
def test_a_value_without_a_row_is_kept_defaulted_or_passed_over_where_the_row_says_so(
    no_row: str, found: str
) -> None:
    tables = {"t": {"rows": [{"says": "S1", "means": "Banner"}]}}
    rows = [
        {"field": "stock_brand", "at": "s", "table": "t", "no_row": no_row, "default": "Usual"},
        {"field": "stock_brand", "at": "z"},
    ]
    data = XML.format(more="<s>Other</s><z>Last</z>").encode()

    read = read_by_mapping(
        data, mapping("xml", *rows, tables=tables, orders="/x/o"), Limits(), "UTC", "o.xml"
    )

    assert value(read, "stock_brand") == found


@pytest.mark.parametrize(
    ("match", "says", "text", "fits"),
    [
        ("exact", "Banner", "Banner", True), ("exact", "Banner", "banner", False),
        ("any case", "Banner  510", "BANNER 510", True), ("pattern", r"BNR/\d+", "bnr/510", True),
        ("pattern", r"BNR/\d+", "bnr/510x", False),
    ],
)  # fmt: skip
def test_a_row_of_a_table_fits_as_its_table_says(match: str, says: str, text: str, fits: bool) -> None:
    table = LookupTable.model_validate({"match": match, "rows": [{"says": says, "means": "x"}]})

    assert (table.row_for(text) is not None) is fits


def test_parts_are_items_and_what_the_item_says_is_so_for_each() -> None:
    data = b"""<x><o no="A1"><l s="Banner"><p n="1" w="10" h="20" f="a"/><p n="2" w="30" h="40" f="b"/></l>
    <l s="Mesh" n="3" w="50" h="60" f="c"/></o></x>"""
    rows = [{"field": field, "at": f"@{name}"} for field, name in
            {"quantity": "n", "finished_width_mm": "w", "finished_height_mm": "h", "artwork_url": "f"}.items()]  # fmt: skip
    brand = {"field": "stock_brand", "at": "@s", "within": "item"}
    by = mapping("xml", *rows, brand, orders="/x/o", items="l", parts="p")

    ticket = one(read_by_mapping(data, by, Limits(), "UTC", "o.xml"))

    said = [(i.values["quantity"].value, i.values["stock_brand"].value, i.line) for i in ticket.items]
    assert said == [(1, "Banner", 1), (2, "Banner", 1), (3, "Mesh", 2)]


def test_order_records_with_one_number_are_one_order_and_must_agree() -> None:
    data = XML.format(more="<d>2026-11-30</d>").replace("</x>", "") + XML.format(more="<d>2026-12-01</d>")[3:]
    due = {"field": "due", "at": "d"}

    found = read_by_mapping(data.encode(), mapping("xml", due, orders="/x/o"), Limits(), "UTC", "o.xml")

    assert codes(found) == ["export.lines-disagree o.xml:1 /x/o[2]/d"]
    assert len(found[0][0].items) == 2  # type: ignore[union-attr]


def test_a_file_without_an_order_at_the_place_is_refused() -> None:
    found = read_by_mapping(b"<x/>", mapping("xml", orders="/x/o"), Limits(), "UTC", "o.xml")

    assert codes(found) == ["export.no-orders o.xml"]


@pytest.mark.parametrize(
    "at",
    ["xpath31: doc('/etc/passwd')", "xpath31: unparsed-text('/etc/passwd')", "xpath31: json-doc('/etc/passwd')",
     "document('/etc/passwd')"],
)  # fmt: skip
def test_no_expression_reaches_a_file(at: str) -> None:
    found = xml({"field": "stock_brand", "at": at})

    assert codes(found)[0].startswith("export.expression o.xml")


def test_no_expression_reads_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SECRET", "x")

    assert (
        "stock_brand"
        not in one(xml({"field": "stock_brand", "at": "xpath31: environment-variable('SECRET')"}))
        .items[0]
        .values
    )


# --- JSON ----------------------------------------------------------------------------------------------------------

ORDER = {"no": "A1", "n": 2, "w": 1000.5, "h": 500, "f": "a.pdf"}


def read_json(data: object, *rows: dict[str, Any], **reads: Any) -> Tickets:
    text = data if isinstance(data, bytes) else json.dumps(data).encode()
    return read_by_mapping(text, mapping("json", *rows, **reads), Limits(), "UTC", "o.json")


def test_json_values_know_their_pointer_from_the_top() -> None:
    found = one(read_json({"a": [ORDER, {**ORDER, "no": "A2"}]}, orders="$.a[?@.no=='A1']"))

    assert found.values["job_id"].path == "/a/0/no"
    assert found.items[0].values["finished_width_mm"].value == 1000.5


@pytest.mark.parametrize("data", [[ORDER], {"all": [ORDER]}])
def test_a_list_stands_for_its_members(data: object) -> None:
    assert value(read_json(data, orders="/all" if isinstance(data, dict) else None), "job_id") == "A1"


@pytest.mark.parametrize("text", ["A1", "{", json.dumps(ORDER), "[1]"])
@pytest.mark.parametrize("at", ["/no", "$.no"])
def test_a_text_is_no_document_of_its_own(text: str, at: str) -> None:
    row = {"field": "job_id", "at": at}

    assert codes(read_json([text, ORDER], row)) == ["export.no-order o.json:1 /0"]


def test_a_text_is_found_where_it_is_all_there_is() -> None:
    assert value(read_json(["{"], {"field": "job_id", "at": "$"}), "job_id") == "{"


@pytest.mark.parametrize("number", ["24117", 24117])
def test_an_order_number_may_be_a_number(number: object) -> None:
    assert value(read_json({**ORDER, "no": number}), "job_id") == "24117"


@pytest.mark.parametrize(
    ("what", "data", "told"),
    [
        ("broken", b'{"no": ', "export.not-json o.json:1:8"),
        ("no UTF-8", '{"no": "M\u00f6we"}'.encode("cp1252"), "export.not-json o.json:1"),
        ("a name twice", b'{"no": "1", "no": "2"}', "export.not-json o.json"),
        ("no number", b'{"no": NaN}', "export.not-json o.json"),
        ("deep", b"[" * 200_000 + b"]" * 200_000, "export.not-json o.json"),
        ("digits without end", b'{"no": ' + b"9" * 10_000 + b"}", "export.not-json o.json"),
        ("an object in the place of a value", b'{"no": {"a": 1}}', "export.expression o.json:1 /"),
    ],
)
def test_json_that_cannot_be_relied_on_is_refused(what: str, data: bytes, told: str) -> None:
    assert codes(read_json(data)) == [told]


@pytest.mark.parametrize("number", [1e400, -5, True, 1e12])
def test_numbers_that_no_size_has_are_refused(number: object) -> None:
    data = json.dumps({**ORDER, "w": number}).replace("Infinity", "1e400").encode()

    assert codes(read_json(data))[0].startswith("export.value o.json:1 /w")


# --- workbooks -----------------------------------------------------------------------------------------------------


def workbook(*rows: tuple[object, ...], title: str = "Orders") -> bytes:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


HEAD = ("@no", "n", "w", "h", "f", "due")
GOOD: tuple[object, ...] = ("A1", 2, 1000.5, 500, "a.pdf", None)


def read_xlsx(data: bytes, *rows: dict[str, Any], **reads: Any) -> Tickets:
    return read_by_mapping(data, mapping("xlsx", *rows, **reads), Limits(), "UTC", "o.xlsx")


def test_values_of_a_workbook_know_their_cell() -> None:
    read = one(read_xlsx(workbook(HEAD, GOOD))).items[0].values["finished_width_mm"]

    assert (read.value, read.path, read.line) == (1000.5, "Orders!C2", 2)


def test_a_formula_counts_as_what_was_last_seen_and_is_never_calculated() -> None:
    found = read_xlsx(workbook(HEAD, ("A1", 2, "=500*2", 500, "a.pdf", None)))

    assert "finished_width_mm" not in one(found).items[0].values


def packed(**members: bytes) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in members.items():
            book.writestr(name, content)
    return data.getvalue()


@pytest.mark.parametrize(
    ("what", "data", "told"),
    [
        ("no ZIP", b"PK", "xlsx.damaged o.xlsx"),
        ("cut off", workbook(HEAD, GOOD)[:3000], "xlsx.damaged o.xlsx"),
        ("a ZIP of something else", packed(a=b"b"), "xlsx.damaged o.xlsx"),
        ("a bomb", packed(**{"xl/workbook.xml": b" " * (65 * 1024 * 1024)}), "xlsx.too-large o.xlsx"),
        ("many files", packed(**{f"f{n}": b"" for n in range(501)}), "xlsx.too-large o.xlsx"),
        ("an entity", packed(**{"xl/workbook.xml": b'<!DOCTYPE a [<!ENTITY b "c">]><a/>'}), "xlsx.damaged o.xlsx"),
        ("a byte order mark of UTF-16", packed(**{"a.xml": "<a/>".encode("utf-16")}), "xlsx.damaged o.xlsx"),
        ("another sheet", workbook(HEAD, GOOD, title="Other"), "xlsx.sheet-missing o.xlsx"),
        ("no lines", workbook(HEAD), "xlsx.empty o.xlsx"),
        ("a heading missing", workbook(HEAD[1:], GOOD[1:]), "xlsx.heading-missing o.xlsx:1"),
        ("a heading twice", workbook((*HEAD, "W"), GOOD), "xlsx.heading-twice o.xlsx:1"),
        ("a line without a number", workbook(HEAD, (None, *GOOD[1:])), "export.no-order o.xlsx:2"),
        ("many columns", workbook(HEAD, (*GOOD, *["x"] * 300)), "xlsx.too-large o.xlsx"),
    ],
)  # fmt: skip
def test_a_workbook_that_cannot_be_relied_on_is_refused(what: str, data: bytes, told: str) -> None:
    assert codes(read_xlsx(data, sheet="Orders")) == [told]


# --- nothing hangs -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "row", "tables"),
    [
        ("an expression", {"field": "stock_brand", "at": "xpath31: count(for $a in 1 to 99999, $b in 1 to 99999 return 1)"}, {}),
        ("a pattern of XPath", {"field": "stock_brand", "at": "xpath31: matches(@long, '^(a+)+$')"}, {}),
        ("a pattern of a table", {"field": "stock_brand", "at": "@long", "table": "t"},
         {"t": {"match": "pattern", "rows": [{"says": "(a+)+", "means": "x"}]}}),
    ],
)  # fmt: skip
def test_what_never_ends_is_ended_and_named_and_the_next_file_is_read(
    what: str, row: dict[str, Any], tables: dict[str, Any]
) -> None:
    data = XML.format(more="").replace('no="A1"', f'no="A1" long="{"a" * 60}!"').encode()
    limits = Limits(reading_s=1)

    found = read_orders(data, "o.xml", mapping("xml", row, tables=tables, orders="/x/o"), limits, "UTC")

    assert codes(found) == ["export.too-long o.xml"]
    [(_, (finding,))] = found
    assert "reads.fields row 6, stock_brand" in sentence(finding)
    assert (
        one(read_orders(data, "o.xml", mapping("xml", orders="/x/o"), Limits(), "UTC")).values["job_id"].value
        == "A1"
    )


@pytest.mark.parametrize(("file", "kind"), [("o.json", "json"), ("o.xlsx", "xlsx"), ("o.csv", "csv")])
def test_a_file_that_the_mapping_does_not_read_is_told_so(file: str, kind: str) -> None:
    [(ticket, (finding,))] = read_orders(b"", file, mapping("xml", orders="/x/o"), Limits(), "UTC")

    assert (ticket, finding.code, finding.facts["kind"]) == (None, "export.not-read", kind)
