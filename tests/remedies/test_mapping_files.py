"""Exports read by the rows of a mapping, and mappings that cannot be used; then as the remedy wants them."""

import io
import json
from collections.abc import Iterator
from typing import Any

import openpyxl
import pytest

from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from tests.unit.flow.bench import BANNER
from ticketbridge.demo.orders import artwork

Steps = Iterator[None]
MAPPING = "mappings/counter.yaml"
FIELDS = """\
  fields:
    - {field: job_id, at: Order, required: true}
    - {field: finished_width_mm, at: Width cm, unit: cm}
    - {field: finished_height_mm, at: Height cm, unit: cm}
    - {field: quantity, at: Pieces}
    - {field: stock_brand, at: Material, table: materials}
    - {field: artwork_url, at: Artwork}
tables:
  materials:
    rows:
      - {says: B510, means: Harbour Banner 510}
"""
JSON = "based_on: mis\nreads:\n  kind: json\n  orders: $.orders[*]\n" + FIELDS.replace(
    "at: ", "at: \"$['"
).replace(", required", "']\", required").replace(", unit", "']\", unit").replace(
    "Pieces}", "Pieces']\"}"
).replace(", table", "']\", table").replace("Artwork}", "Artwork']\"}")
XLSX = f"based_on: mis\nreads:\n  kind: xlsx\n  sheet: Orders\n{FIELDS}"
ONE: dict[str, Any] = {
    "Order": "C-1", "Width cm": 100, "Height cm": 50, "Pieces": 2, "Material": "B510", "Artwork": "C-1.pdf",
}  # fmt: skip


@pytest.fixture(autouse=True)
def art(scene: Scene) -> None:
    """The artwork of the orders that follow."""
    for job_id in ("C-1", "C-2"):
        (scene.drop_folder("counter") / f"{job_id}.pdf").write_bytes(artwork(BANNER))


def _mapping(scene: Scene, text: str, *changes: tuple[str, str]) -> None:
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (scene.folder / MAPPING).write_text(text)
    scene.stop()


def _json(scene: Scene, *orders: dict[str, Any]) -> str:
    return scene.drop("orders.json", json.dumps({"orders": orders}), at="counter")


def _xlsx(scene: Scene, rows: list[list[Any]], sheet: str = "Orders") -> str:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(row)
    data = io.BytesIO()
    book.save(data)
    return scene.drop("orders.xlsx", data.getvalue(), at="counter")


# What a file says


@provokes("export.not-json", "as UTF-8")
def test_json_that_is_none(scene: Scene) -> Steps:
    _mapping(scene, JSON)
    scene.drop("orders.json", '{"orders": [', at="counter")
    yield
    _json(scene, ONE)


@provokes("export.not-read", "Drop it where such files are read, or give the mapping a block reads")
def test_a_kind_of_file_that_the_mapping_does_not_read(scene: Scene) -> Steps:
    _json(scene, ONE)
    yield
    _mapping(scene, JSON)
    _json(scene, ONE)


@provokes("export.too-large", "raise the limit in shop.yaml")
def test_an_export_of_more_bytes_than_are_read(scene: Scene) -> Steps:
    _mapping(scene, JSON)
    scene.edit("shop.yaml", "ticket_bytes: 16777216", "ticket_bytes: 50")
    _json(scene, ONE)
    yield
    scene.edit("shop.yaml", "ticket_bytes: 50", "ticket_bytes: 16777216")
    _json(scene, ONE)


@provokes("export.no-orders", "or let the sender put orders there")
def test_an_export_without_orders(scene: Scene) -> Steps:
    _mapping(scene, JSON)
    _json(scene)
    yield
    _json(scene, ONE)


@provokes("export.no-order", "Give it the number of its order")
def test_an_order_without_a_number(scene: Scene) -> Steps:
    _mapping(scene, JSON)
    _json(scene, {**ONE, "Order": ""})
    yield
    _json(scene, ONE)


@provokes("export.missing", "Give it in")
def test_an_order_without_what_the_mapping_requires(scene: Scene) -> Steps:
    _mapping(scene, JSON, ("Pieces']\"}", "Pieces']\", required: true}"))
    _json(scene, {name: value for name, value in ONE.items() if name != "Pieces"})
    yield
    _json(scene, ONE)


@provokes("export.value", "Correct the file")
def test_a_width_that_is_no_number(scene: Scene) -> Steps:
    _mapping(scene, JSON)
    _json(scene, {**ONE, "Width cm": "wide"})
    yield
    _json(scene, ONE)


@provokes("export.no-row", "Add a row to the table")
def test_a_material_that_the_table_does_not_have(scene: Scene) -> Steps:
    _mapping(scene, JSON)
    _json(scene, {**ONE, "Material": "B440"})
    yield
    row = "      - {says: B510, means: Harbour Banner 510}\n"
    _mapping(scene, JSON, (row, f"{row}{row.replace('B510', 'B440')}"))
    _json(scene, {**ONE, "Material": "B440"})


@provokes("export.several", "Make the place in the mapping more particular")
def test_a_place_that_leads_to_several_values(scene: Scene) -> Steps:
    files = {**ONE, "Artwork": ["C-1.pdf", "C-2.pdf"]}
    _mapping(scene, JSON, ("$['Artwork']", "$['Artwork'][*]"))
    _json(scene, files)
    yield
    _mapping(scene, JSON, ("$['Artwork']", "$['Artwork'][0]"))
    _json(scene, files)


@provokes("export.lines-disagree", "give the second one an order number of its own")
def test_two_items_of_one_order_that_disagree(scene: Scene) -> Steps:
    _mapping(scene, JSON, ("fields:\n", "fields:\n    - {field: customer_name, at: \"$['Customer']\"}\n"))
    first = {**ONE, "Customer": "Tidewatch Museum"}
    _json(scene, first, {**first, "Customer": "Saltmarsh Gallery"})
    yield
    _json(scene, first, {**first, "Customer": "Saltmarsh Gallery", "Order": "C-2"})


# Workbooks


@provokes("xlsx.damaged", "Save it anew as .xlsx")
def test_a_workbook_that_is_none(scene: Scene) -> Steps:
    _mapping(scene, XLSX)
    scene.drop("orders.xlsx", b"PK\x03\x04 no more", at="counter")
    yield
    _xlsx(scene, [list(ONE), list(ONE.values())])


@provokes("xlsx.empty", "Send it again with its lines")
def test_a_sheet_of_headings_alone(scene: Scene) -> Steps:
    _mapping(scene, XLSX)
    _xlsx(scene, [list(ONE)])
    yield
    _xlsx(scene, [list(ONE), list(ONE.values())])


@provokes("xlsx.heading-missing", "Give the column that heading")
def test_a_column_without_its_heading(scene: Scene) -> Steps:
    _mapping(scene, XLSX)
    _xlsx(scene, [["Copies" if name == "Pieces" else name for name in ONE], list(ONE.values())])
    yield
    _xlsx(scene, [list(ONE), list(ONE.values())])


@provokes("xlsx.heading-twice", "Give each its own heading")
def test_two_columns_of_one_heading(scene: Scene) -> Steps:
    _mapping(scene, XLSX)
    _xlsx(scene, [[*ONE, "Pieces"], [*ONE.values(), 3]])
    yield
    _xlsx(scene, [[*ONE, "Delivered"], [*ONE.values(), 3]])


@provokes("xlsx.sheet-missing", "or correct reads.sheet of the mapping")
def test_a_workbook_without_the_sheet(scene: Scene) -> Steps:
    _mapping(scene, XLSX)
    _xlsx(scene, [list(ONE), list(ONE.values())], sheet="May")
    yield
    _mapping(scene, XLSX, ("sheet: Orders", "sheet: May"))
    _xlsx(scene, [list(ONE), list(ONE.values())], sheet="May")


@provokes("xlsx.too-large", "or raise the limit in shop.yaml")
def test_a_sheet_of_more_lines_than_are_read(scene: Scene) -> Steps:
    _mapping(scene, XLSX)
    scene.edit("shop.yaml", "  ticket_bytes:", "  lines_per_file: 1\n  ticket_bytes:")
    rows = [list(ONE), list(ONE.values()), ["C-2", *list(ONE.values())[1:]]]
    _xlsx(scene, rows)
    yield
    scene.edit("shop.yaml", "lines_per_file: 1\n", "lines_per_file: 2\n")
    _xlsx(scene, rows)


# Mappings that cannot be used


def _checked(scene: Scene, *fault: tuple[str, str]) -> Steps:
    _mapping(scene, JSON, *fault)
    scene.check()
    yield
    _mapping(scene, JSON)
    scene.check()


@provokes("config.expression", "Correct the expression")
def test_a_place_that_is_no_jsonpath(scene: Scene) -> Steps:
    yield from _checked(scene, ("$['Pieces']", "$[[Pieces"))


@provokes("config.default-unfit", "Write it in the unit of the field's name")
def test_a_default_that_the_field_cannot_be(scene: Scene) -> Steps:
    yield from _checked(scene, ("Pieces']\"}", "Pieces']\", default: many}"))


@provokes("config.table-unfit", "Correct the row, or name another table")
def test_a_table_of_words_for_a_number(scene: Scene) -> Steps:
    yield from _checked(scene, ("Pieces']\"}", "Pieces']\", table: materials}"))


def _table_file(scene: Scene, text: str) -> None:
    (scene.folder / "mappings/materials.csv").write_text(text)
    _mapping(
        scene,
        JSON,
        ("    rows:\n      - {says: B510, means: Harbour Banner 510}\n", "    file: materials.csv\n"),
    )
    scene.check()


@provokes("config.table-file", "has the headings says and means")
def test_a_table_without_its_headings(scene: Scene) -> Steps:
    _table_file(scene, "word,meaning\nB510,Harbour Banner 510\n")
    yield
    _table_file(scene, "says,means\nB510,Harbour Banner 510\n")


@provokes("config.table-row", "or take it out")
def test_a_row_of_a_table_that_means_nothing(scene: Scene) -> Steps:
    _table_file(scene, "says,means\nB510,Harbour Banner 510\nB440,\n")
    yield
    _table_file(scene, "says,means\nB510,Harbour Banner 510\n")
