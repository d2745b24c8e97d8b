"""Files of an MIS that a mapping reads, and mappings with mistakes: what is said, and that its remedy helps."""

import io
import json
from collections.abc import Iterator
from typing import Any

import openpyxl
import pytest

from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from ticketbridge.config import mapping_checks
from ticketbridge.demo.orders import BANNER, artwork

Steps = Iterator[None]

MAPPING = """based_on: mis
reads:
  kind: {kind}
{more}  fields:
{fields}
"""
PLACES = {
    "job_id": "no", "quantity": "n", "finished_width_mm": "w", "finished_height_mm": "h", "artwork_url": "f", "stock_brand": "s",
}  # fmt: skip
ORDER: dict[str, Any] = {"no": "E-1", "n": 2, "w": 1000, "h": 500, "f": "e.pdf", "s": "Harbour Banner 510"}
HERE = "mappings/counter.yaml"


def reads(scene: Scene, kind: str, *rows: str, more: str = "", tables: str = "") -> None:
    """Let the counter's mapping read files of a kind: flat orders with the values of ``ORDER``."""
    before = "/" if kind == "json" else ""
    fields = [f'{{field: {name}, at: "{before}{at}"}}' for name, at in PLACES.items()]
    text = MAPPING.format(kind=kind, more=more, fields="\n".join(f"    - {row}" for row in (*fields, *rows)))
    (scene.folder / HERE).write_text(text + tables)
    scene.stop()


def drop(scene: Scene, name: str, data: bytes | str) -> str:
    (scene.drop_folder("counter") / "e.pdf").write_bytes(artwork(BANNER))
    return scene.drop(name, data, at="counter")


def xml(more: str = "", **changes: object) -> str:
    values = "".join(
        f"<{name}>{value}</{name}>" for name, value in {**ORDER, **changes}.items() if value is not None
    )
    return f"<order>{values}{more}</order>"


def sheet(
    *lines: tuple[object, ...], headings: tuple[str, ...] = tuple(ORDER), title: str = "Orders"
) -> bytes:
    book = openpyxl.Workbook()
    page: Any = book.active
    page.title = title
    for line in (headings, *lines):
        page.append(line)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


LINE = tuple(ORDER.values())


# Files


@provokes("export.not-read", "give the mapping a block reads with kind: json")
def test_a_kind_of_file_that_the_mapping_does_not_read(scene: Scene) -> Steps:
    drop(scene, "e.json", json.dumps(ORDER))
    yield
    reads(scene, "json")
    drop(scene, "e.json", json.dumps(ORDER))


@provokes("export.too-large", "Split it into several files")
def test_more_json_than_is_read(scene: Scene) -> Steps:
    reads(scene, "json")
    scene.edit("shop.yaml", "ticket_bytes: 16777216", "ticket_bytes: 150")
    drop(scene, "e.json", json.dumps([ORDER, {**ORDER, "no": "E-2"}]))
    yield
    drop(scene, "e1.json", json.dumps(ORDER))
    drop(scene, "e2.json", json.dumps({**ORDER, "no": "E-2"}))


@provokes("export.too-long", "Correct that row of the mapping")
def test_a_pattern_that_never_ends(scene: Scene) -> Steps:
    row = "{field: customer_id, at: c, table: t}"
    tables = "tables:\n  t: {match: pattern, rows: [{says: (a+)+, means: C-1}]}\n"
    reads(scene, "xml", row, tables=tables)
    scene.edit("shop.yaml", "  ticket_bytes:", "  reading_s: 1\n  ticket_bytes:")
    more = f"<c>{'a' * 60}!</c>"
    drop(scene, "e.xml", xml(more))
    yield
    reads(scene, "xml", row, tables=tables.replace("(a+)+", "a+!"))
    drop(scene, "e.xml", xml(more))


@provokes("export.not-json", "write it anew, as UTF-8")
def test_json_in_another_encoding(scene: Scene) -> Steps:
    reads(scene, "json")
    text = json.dumps({**ORDER, "customer": "Bäckerei"}, ensure_ascii=False)
    drop(scene, "e.json", text.encode("cp1252"))
    yield
    drop(scene, "e.json", text.encode())


@provokes("export.expression", "Correct the place in the mapping")
def test_a_place_that_leads_to_more_than_a_value(scene: Scene) -> Steps:
    reads(scene, "json", '{field: customer_id, at: "/c"}')
    drop(scene, "e.json", json.dumps({**ORDER, "c": {"id": "C-1"}}))
    yield
    reads(scene, "json", '{field: customer_id, at: "/c/id"}')
    drop(scene, "e.json", json.dumps({**ORDER, "c": {"id": "C-1"}}))


@provokes("export.no-orders", "Correct reads.orders of the mapping")
def test_no_order_where_orders_should_be(scene: Scene) -> Steps:
    reads(scene, "xml", more="  orders: /orders/order\n")
    drop(scene, "e.xml", xml())
    yield
    reads(scene, "xml", more="  orders: /order\n")
    drop(scene, "e.xml", xml())


@provokes("xlsx.too-large", "Split it into several files")
def test_more_lines_of_a_sheet_than_are_read(scene: Scene) -> Steps:
    reads(scene, "xlsx")
    scene.edit("shop.yaml", "  ticket_bytes:", "  lines_per_file: 1\n  ticket_bytes:")
    other = ("E-2", *LINE[1:])
    drop(scene, "e.xlsx", sheet(LINE, other))
    yield
    drop(scene, "e1.xlsx", sheet(LINE))
    drop(scene, "e2.xlsx", sheet(other))


@provokes("xlsx.damaged", "Save it anew as .xlsx")
def test_a_workbook_cut_off(scene: Scene) -> Steps:
    reads(scene, "xlsx")
    drop(scene, "e.xlsx", sheet(LINE)[:2000])
    yield
    drop(scene, "e.xlsx", sheet(LINE))


@provokes("xlsx.sheet-missing", "Name the sheet so, or correct reads.sheet")
def test_a_sheet_of_another_name(scene: Scene) -> Steps:
    reads(scene, "xlsx", more="  sheet: Orders\n")
    drop(scene, "e.xlsx", sheet(LINE, title="December"))
    yield
    drop(scene, "e.xlsx", sheet(LINE))


@provokes("xlsx.empty", "reads.heading_line and reads.heading_lines")
def test_a_sheet_without_lines_below_its_headings(scene: Scene) -> Steps:
    reads(scene, "xlsx", more="  heading_line: 2\n")
    drop(scene, "e.xlsx", sheet(LINE))
    yield
    reads(scene, "xlsx", more="  heading_line: 1\n")
    drop(scene, "e.xlsx", sheet(LINE))


@provokes("xlsx.heading-missing", "Give the column that heading")
def test_a_heading_of_a_sheet_that_is_missing(scene: Scene) -> Steps:
    reads(scene, "xlsx")
    drop(scene, "e.xlsx", sheet(LINE, headings=("number", *tuple(ORDER)[1:])))
    yield
    drop(scene, "e.xlsx", sheet(LINE))


@provokes("xlsx.heading-twice", "Give each its own heading")
def test_a_heading_of_a_sheet_that_is_there_twice(scene: Scene) -> Steps:
    reads(scene, "xlsx")
    drop(scene, "e.xlsx", sheet((*LINE, 9), headings=(*ORDER, "w")))
    yield
    drop(scene, "e.xlsx", sheet((*LINE, 9), headings=(*ORDER, "w of the frame")))


# Values


@provokes("export.no-order", "Give it the number of its order")
def test_a_line_of_a_sheet_without_an_order(scene: Scene) -> Steps:
    reads(scene, "xlsx")
    drop(scene, "e.xlsx", sheet((None, *LINE[1:])))
    yield
    drop(scene, "e.xlsx", sheet(LINE))


@provokes("export.lines-disagree", "give the second one an order number of its own")
def test_two_customers_of_one_order(scene: Scene) -> Steps:
    reads(scene, "json", '{field: customer_id, at: "/c"}')
    drop(scene, "e.json", json.dumps([{**ORDER, "c": "C-1"}, {**ORDER, "c": "C-2"}]))
    yield
    drop(scene, "e.json", json.dumps([{**ORDER, "c": "C-1"}, {**ORDER, "no": "E-2", "c": "C-2"}]))


@provokes("export.value", "what the row of the mapping says about unit")
def test_a_size_with_its_unit(scene: Scene) -> Steps:
    reads(scene, "xml")
    drop(scene, "e.xml", xml(w="100 cm"))
    yield
    scene.edit(
        HERE, '{field: finished_width_mm, at: "w"}', '{field: finished_width_mm, at: "w", unit: as written}'
    )
    drop(scene, "e.xml", xml(w="100 cm"))


@provokes("export.several", "Make the place in the mapping more particular")
def test_two_values_at_one_place(scene: Scene) -> Steps:
    reads(scene, "xml", "{field: customer_id, at: c}")
    drop(scene, "e.xml", xml("<c>C-1</c><c>C-2</c>"))
    yield
    scene.edit(HERE, "at: c}", 'at: "c[1]"}')
    drop(scene, "e.xml", xml("<c>C-1</c><c>C-2</c>"))


@provokes("export.missing", "Give it in c")
def test_a_value_that_the_mapping_requires(scene: Scene) -> Steps:
    reads(scene, "xml", "{field: customer_id, at: c, required: true}")
    drop(scene, "e.xml", xml())
    yield
    drop(scene, "e.xml", xml("<c>C-1</c>"))


@provokes("export.no-row", "Add a row to the table")
def test_a_word_that_the_table_does_not_know(scene: Scene) -> Steps:
    row = "{field: print_preference, at: q, table: t}"
    tables = "tables:\n  t:\n    rows:\n      - {says: A, means: HighestQuality}\n"
    reads(scene, "xml", row, tables=tables)
    drop(scene, "e.xml", xml("<q>B</q>"))
    yield
    reads(scene, "xml", row, tables=f"{tables}      - {{says: B, means: Balanced}}\n")
    drop(scene, "e.xml", xml("<q>B</q>"))


# Mappings


def _wrong(scene: Scene, right: str, wrong: str) -> Steps:
    """The counter's mapping with a fault, checked; then corrected, and checked again."""
    scene.edit(HERE, right, wrong)
    scene.check()
    yield
    scene.edit(HERE, wrong, right)
    scene.check()


@provokes("config.expression", "Correct the expression")
def test_an_expression_that_is_not_closed(scene: Scene) -> Steps:
    reads(scene, "xml", '{field: customer_id, at: "c/@id"}')
    yield from _wrong(scene, '"c/@id"', '"c[@id"')


@provokes("config.expression-endless", "names what it looks for")
def test_an_expression_that_counts_for_ever(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    monkeypatch.setattr(mapping_checks, "COMPILE_S", 0.5)
    reads(scene, "xml", '{field: customer_id, at: "c/@id"}')
    yield from _wrong(scene, '"c/@id"', '"xpath31: count(1 to 8000000)"')


@provokes("config.default-unfit", "in the unit of the field's name")
def test_a_default_with_its_unit(scene: Scene) -> Steps:
    reads(scene, "xml", "{field: bleed_mm, default: 5}")
    yield from _wrong(scene, "default: 5}", "default: 5 mm}")


@provokes("config.table-unfit", "Correct the row, or name another table")
def test_a_table_that_means_no_such_thing(scene: Scene) -> Steps:
    tables = "tables:\n  t:\n    rows:\n      - {says: A, means: HighestQuality}\n"
    reads(scene, "xml", "{field: print_preference, at: q, table: t}", tables=tables)
    yield from _wrong(scene, "means: HighestQuality", "means: Good")


STOCKS = "tables:\n  t: {file: stocks.csv}\n"


@provokes("config.table-file", "lies beside the mapping and has the headings says and means")
def test_a_table_without_its_headings(scene: Scene) -> Steps:
    reads(scene, "xml", tables=STOCKS)
    (scene.folder / "mappings/stocks.csv").write_text("A,Harbour Banner 510\nB,Harbour Mesh 270\n")
    scene.check()
    yield
    (scene.folder / "mappings/stocks.csv").write_text(
        "says,means\nA,Harbour Banner 510\nB,Harbour Mesh 270\n"
    )
    scene.check()


@provokes("config.table-row", "Correct the line, or take it out")
def test_a_line_of_a_table_without_a_meaning(scene: Scene) -> Steps:
    reads(scene, "xml", tables=STOCKS)
    (scene.folder / "mappings/stocks.csv").write_text("says,means\nA,Harbour Banner 510\nB,\n")
    scene.check()
    yield
    (scene.folder / "mappings/stocks.csv").write_text("says,means\nA,Harbour Banner 510\n")
    scene.check()
