"""Drafts of exports of many shapes: flat and nested, attributes and elements, abbreviations, German, units in headings."""

from typing import Any

import pytest
from ruamel.yaml import YAML

from tests.exports.shop import exports_shop
from ticketbridge.model.shop import Shop
from ticketbridge.prove.draft.draft import draft
from ticketbridge.prove.draft.survey import NothingFound


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return exports_shop(tmp_path_factory.mktemp("exports") / "shop")


def reads(shop: Shop, file: str, text: str) -> dict[str, Any]:
    made: dict[str, Any] = YAML(typ="safe").load(draft([(file, text.encode())], shop))["reads"]
    return made


def rows(found: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {row["field"]: row for row in found["fields"]}


GERMAN = """\
Bestell-Nr.,Kundenname,Kd.-Nr.,Ihre Bestellnummer,Wunschtermin,Pos.-Nr.,Motiv,Anzahl,Breite (cm),Höhe (cm),Weißdruck,PDF,Preis
A-1,Möwe,20011,PO-77,03.12.2026 12:00,1,Banner Süd,3,"145,5",170,nein,a.pdf,"120,50"
A-1,Möwe,20011,PO-77,03.12.2026 12:00,2,Banner Nord,2,245,170,nein,b.pdf,"110,50"
A-2,Galerie,20012,,14.12.2026 09:00,1,Schild,1,80,120,ja,c.pdf,"80,00"
"""


def test_german_headings_with_units_in_brackets(shop: Shop) -> None:
    found = reads(shop, "a.csv", GERMAN)
    by_field = rows(found)

    assert (found["separator"], found["date_format"]) == ("comma", "DD.MM.YYYY")
    assert (
        "decimal_sign" not in found
    )  # a comma cannot both separate and stand before decimals in the whole file
    assert by_field["finished_width_mm"] == {
        "field": "finished_width_mm", "at": "Breite (cm)", "unit": "cm", "decimal_sign": "comma",
    }  # fmt: skip
    assert {name: row["at"] for name, row in by_field.items() if "at" in row and "table" not in row} == {
        "job_id": "Bestell-Nr.", "customer_name": "Kundenname", "customer_id": "Kd.-Nr.",
        "customer_order_id": "Ihre Bestellnummer", "due": "Wunschtermin", "job_part_id": "Pos.-Nr.",
        "descriptive_name": "Motiv", "quantity": "Anzahl", "finished_width_mm": "Breite (cm)",
        "finished_height_mm": "Höhe (cm)", "artwork_url": "PDF",
    }  # fmt: skip


def test_abbreviations_in_snake_case_with_inches(shop: Shop) -> None:
    text = (
        "ord_no,cust_nm,due_dt,ln,qty,fin_w_in,fin_h_in,mat_cd,art_file\n"
        "901,Museum,12/31/2026,1,2,96,48,BAN510,a.pdf\n901,Museum,12/31/2026,2,4,36,60.5,FLAG115,b.pdf\n"
    )
    found = reads(shop, "a.csv", text)
    by_field = rows(found)

    assert found["date_format"] == "MM/DD/YYYY"
    assert (by_field["finished_width_mm"]["at"], by_field["finished_width_mm"]["unit"]) == ("fin_w_in", "in")
    assert by_field["job_part_id"]["at"] == "ln"
    assert by_field["stock_brand"]["at"] == "mat_cd"


def test_a_date_that_may_be_read_two_ways_is_asked_about(shop: Shop) -> None:
    text = (
        "Job,Due,Qty,Width mm,Height mm,File\nJ1,03/04/2026,1,900,800,a.pdf\nJ2,05/06/2026,1,900,700,b.pdf\n"
    )

    assert "# ask: or is it MM/DD/YYYY? The values do not tell." in draft([("a.csv", text.encode())], shop)


def test_attributes_only_and_numbers_with_decimal_commas(shop: Shop) -> None:
    text = """<liste><auftrag nr="A1" kunde="Museum" termin="2026-12-01">
      <position lfd="1" menge="3" breite="1,45" hoehe="1,70" datei="a.pdf"/></auftrag>
      <auftrag nr="A2" kunde="Verein" termin="2026-12-02"><position lfd="1" menge="1" breite="3,00" hoehe="2,00" datei="b.pdf"/>
      <position lfd="2" menge="10" breite="0,9" hoehe="1,5" datei="c.pdf"/></auftrag></liste>"""
    found = reads(shop, "a.xml", text)

    assert (found["orders"], found["items"], found["decimal_sign"]) == ("/liste/auftrag", "position", "comma")
    assert rows(found)["finished_width_mm"] == {"field": "finished_width_mm", "at": "@breite", "unit": "m"}
    assert rows(found)["job_id"]["at"] == "@nr"


def test_elements_in_a_default_namespace_with_the_unit_at_the_top(shop: Shop) -> None:
    order = """<Order><No>{0}</No><Items><Item><Line>1</Line><Qty>2</Qty>
      <Dimensions><Width>200</Width><Height>100</Height></Dimensions>
      <Props><Prop name="hem">4</Prop><Prop name="eyelet_spacing">50</Prop></Props>
      <Artwork><File url="a{0}.pdf"/></Artwork></Item></Items></Order>"""
    text = f'<Orders xmlns="urn:x:y" unit="cm">{order.format(71)}{order.format(72)}</Orders>'
    found = reads(shop, "a.xml", text)
    by_field = rows(found)

    assert found["namespaces"] == {"n": "urn:x:y"}
    assert (found["orders"], found["items"]) == ("/n:Orders/n:Order", "n:Items/n:Item")
    assert by_field["finished_width_mm"] == {
        "field": "finished_width_mm", "at": "n:Dimensions/n:Width", "unit": "cm",
    }  # fmt: skip
    assert by_field["hem"]["at"] == "n:Props/n:Prop[@name='hem']"
    assert by_field["eyelet_spacing_mm"]["at"] == "n:Props/n:Prop[@name='eyelet_spacing']"


def test_details_by_key_and_value_in_json(shop: Shop) -> None:
    text = """{"export": {"tickets": [
      {"ticketId": "T-7", "delivery": {"date": "2026-12-01"}, "lineItems": [
        {"lineNumber": 1, "amount": 3, "assets": [{"uri": "a.pdf"}],
         "specs": [{"key": "width", "value": "1450"}, {"key": "height", "value": "1700"}]},
        {"lineNumber": 2, "amount": 1, "assets": [{"uri": "b.pdf"}],
         "specs": [{"key": "width", "value": "900"}, {"key": "height", "value": "800"}]}]},
      {"ticketId": "T-8", "delivery": {"date": "2026-12-04"}, "lineItems": [
        {"lineNumber": 1, "amount": 1, "assets": [{"uri": "c.pdf"}],
         "specs": [{"key": "width", "value": "2900"}, {"key": "height", "value": "2400"}]}]}]}}"""
    found = reads(shop, "a.json", text)
    by_field = rows(found)

    assert (found["orders"], found["items"]) == ("$.export.tickets[*]", "$.lineItems[*]")
    assert by_field["finished_width_mm"]["at"] == "$.specs[?@.key=='width'].value"
    assert by_field["artwork_url"]["at"] == "$.assets[*].uri"
    assert by_field["due"]["at"] == "/delivery/date"


def test_a_flat_list_of_jobs_in_camel_case(shop: Shop) -> None:
    text = """[{"jobNumber": "J-1", "clientName": "Fair", "isRush": false, "copies": 2, "finishedSize": "2000x1000 mm",
      "artworkUrl": "https://files.example/a.pdf"}, {"jobNumber": "J-2", "clientName": "Wall", "isRush": true, "copies": 1,
      "finishedSize": "3000x2400 mm", "artworkUrl": "https://files.example/b.pdf"}]"""
    found = reads(shop, "a.json", text)
    by_field = rows(found)

    assert found["orders"] == "$[*]"
    assert "items" not in found
    assert by_field["finished_width_mm"] == {
        "field": "finished_width_mm", "at": "/finishedSize", "split_at": "x", "piece": 1,
    }  # fmt: skip
    assert by_field["finished_height_mm"]["unit"] == "as written"


def test_a_size_whose_heading_names_the_height_first(shop: Shop) -> None:
    text = "Auftragsnr.;Stk.;Format HxB cm;PDF\n1;3;145x170;a.pdf\n2;1;300x180;b.pdf\n"
    by_field = rows(reads(shop, "a.csv", text))

    assert by_field["finished_height_mm"]["piece"] == 1
    assert by_field["finished_width_mm"]["piece"] == 2


def test_what_no_order_can_be_made_without_is_asked_for_and_the_draft_loads_all_the_same(shop: Shop) -> None:
    text = draft([("a.csv", b"Foo;Bar\nx;y\nz;w\n")], shop)

    assert "# ask: where does job_id stand?" in text
    assert set(rows(YAML(typ="safe").load(text)["reads"])) >= {"job_id", "quantity", "artwork_url"}


@pytest.mark.parametrize(
    ("file", "data", "why"),
    [
        ("a.json", b"{}", "no values stand in the samples"),
        ("a.csv", b"only one line\n", "The file has no order lines"),
        ("a.xlsx", b"none", "workbook"),
    ],
)
def test_files_that_nothing_can_be_made_of_say_why(shop: Shop, file: str, data: bytes, why: str) -> None:
    with pytest.raises(NothingFound, match=why):
        draft([(file, data)], shop)


def test_samples_of_different_kinds_are_refused(shop: Shop) -> None:
    with pytest.raises(NothingFound, match="different kinds: csv, json"):
        draft([("a.csv", b"A;B\n1;2\n"), ("a.json", b"{}")], shop)
