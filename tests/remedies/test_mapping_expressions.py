"""Expressions and patterns of a mapping that lead nowhere or never end; then as the remedy wants them."""

import json
from collections.abc import Iterator
from typing import Any

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


@provokes("export.expression", "Correct the place in the mapping")
def test_a_place_that_leads_to_more_than_a_value(scene: Scene) -> Steps:
    reads(scene, "json", '{field: customer_id, at: "/c"}')
    drop(scene, "e.json", json.dumps({**ORDER, "c": {"id": "C-1"}}))
    yield
    reads(scene, "json", '{field: customer_id, at: "/c/id"}')
    drop(scene, "e.json", json.dumps({**ORDER, "c": {"id": "C-1"}}))


@provokes("config.expression-endless", "names what it looks for")
def test_an_expression_that_counts_for_ever(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    monkeypatch.setattr(mapping_checks, "COMPILE_S", 0.5)
    reads(scene, "xml", '{field: customer_id, at: "c/@id"}')
    scene.edit(HERE, '"c/@id"', '"xpath31: count(1 to 8000000)"')
    scene.check()
    yield
    scene.edit(HERE, '"xpath31: count(1 to 8000000)"', '"c/@id"')
    scene.check()
