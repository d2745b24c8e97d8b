"""One mistake of each kind in a mapping: each complaint names file, line, column, key and what to do."""

from typing import NamedTuple

import pytest

from tests.unit.config.conftest import ShopFolder
from ticketbridge.config import mapping_checks
from ticketbridge.model.codes import remedy, sentence

MAPPING = """\
reads:
  kind: xml
  namespaces: {o: "urn:orders"}
  orders: /o:export/o:order
  items: o:line
  date_format: DD.MM.YYYY
  fields:
    - {field: job_id, at: "@number", required: true}
    - {field: quantity, at: o:pieces}
    - {field: finished_width_mm, at: "o:size/@w", unit: cm}
    - {field: finished_height_mm, at: "o:size/@h", unit: cm}
    - {field: artwork_url, at: o:file}
    - {field: stock_brand, at: o:stock, table: materials}
    - {field: print_preference, at: o:grade, table: grades}
    - {field: bleed_mm, default: 5}
    - {field: may_rotate, default: no, only_when: {at: o:grain, says: [fixed]}}
tables:
  materials: {file: materials.csv, separator: semicolon}
  grades:
    match: pattern
    rows:
      - {says: A+, means: HighestQuality}
      - {says: B, means: Balanced}
substrates:
  - {stock_brand: Banner, substrate: BANNER}
print_modes:
  - {print_mode: six}
"""
MATERIALS = "says;means\nS-1;Banner\nS-2;Banner\n"


class Typo(NamedTuple):
    what: str
    old: str
    new: str
    code: str
    spot: str
    says: str
    advice: str
    file: str = "mappings/mis.yaml"


TYPOS = [
    Typo("a key misspelt", "date_format:", "date_fromat:", "config.key-unknown",
         "mappings/mis.yaml:6:3 reads.date_fromat", 'The key "date_fromat" is unknown here.', 'Did you mean "date_format"?'),
    Typo("a key of a row misspelt", "unit: cm}\n    - {field: finished_height", "units: cm}\n    - {field: finished_height",
         "config.key-unknown", "mappings/mis.yaml:10:51 reads.fields[#3].units", 'The key "units" is unknown here.',
         'Did you mean "unit"?'),
    Typo("a field nobody knows", "field: quantity", "field: amount", "config.value",
         "mappings/mis.yaml:9:15 reads.fields[#2].field", 'It says "amount", but it must be one of "job_id"', "Correct the value."),
    Typo("a kind of file nobody reads", "kind: xml", "kind: xls", "config.value", "mappings/mis.yaml:2:9 reads.kind",
         'It says "xls"', 'Did you mean "xlsx"?'),
    Typo("a unit nobody knows", "at: \"o:size/@h\", unit: cm", "at: \"o:size/@h\", unit: inch", "config.value",
         "mappings/mis.yaml:11:58 reads.fields[#4].unit", 'It says "inch"', 'Did you mean "in"?'),
    Typo("a unit for what has none", "at: o:pieces}", "at: o:pieces, unit: cm}", "config.contradiction",
         "mappings/mis.yaml:9:7 reads.fields[#2]", "quantity cannot be counted in cm: no unit goes with it", "Correct the value"),
    Typo("a date form nobody knows", "DD.MM.YYYY", "DD.MM.YY", "config.value", "mappings/mis.yaml:6:16 reads.date_format",
         'It says "DD.MM.YY"', 'Did you mean "DD.MM.YYYY"?'),
    Typo("a value that every order needs left out", "    - {field: artwork_url, at: o:file}\n", "", "config.contradiction",
         "mappings/mis.yaml:2:3 reads", "no row gives artwork_url, and no order can be made without", "Correct the value"),
    Typo("a row that says nothing", "{field: bleed_mm, default: 5}", "{field: bleed_mm}", "config.contradiction",
         "mappings/mis.yaml:2:3 reads", "the row for bleed_mm has neither a place (at) nor a default", "Correct the value"),
    Typo("a key for another kind of file", "  kind: xml\n", "  kind: xml\n  encoding: utf-8\n", "config.contradiction",
         "mappings/mis.yaml:2:3 reads", "encoding is for csv files, and these are xml", "Correct the value"),
    Typo("an XPath that is not closed", '"o:size/@h"', '"o:size[@h"', "config.expression",
         "mappings/mis.yaml:11:39 reads.fields[#4].at", 'The place "o:size[@h" cannot be read', "ticketbridge mapping try FILE"),
    Typo("a prefix that no namespace has", "at: o:pieces", "at: p:pieces", "config.expression",
         "mappings/mis.yaml:9:29 reads.fields[#2].at", "prefix 'p' is not declared", "Prefixes in an XPath are those of reads.namespaces"),
    Typo("a function that nobody knows", "at: o:pieces", "at: pieces(o:x)", "config.expression",
         "mappings/mis.yaml:9:29 reads.fields[#2].at", "unknown function 'pieces'", "Correct the expression."),
    Typo("an expression of another language", "at: o:pieces", "at: 'jsonpath: $.pieces'", "config.expression",
         "mappings/mis.yaml:9:29 reads.fields[#2].at", "xml files are asked in xpath or xpath31, not in jsonpath", "Correct the expression."),
    Typo("a condition that cannot be read", "at: o:grain", "at: o:grain(", "config.expression",
         "mappings/mis.yaml:16:56 reads.fields[#9].only_when.at", 'The place "o:grain(" cannot be read', "Correct the expression."),
    Typo("a table that is not there", "table: materials}", "table: material}", "config.reference-unknown",
         "mappings/mis.yaml:13:48 reads.fields[#6].table", 'There is no table called "material".', 'Did you mean "materials"?'),
    Typo("a table of the wrong kind", "table: materials}", "table: grades}\n    - {field: panels, at: o:p, table: grades}",
         "config.table-unfit", "mappings/mis.yaml:14:39 reads.fields[#7].table",
         'The table grades cannot fill panels: row 1, which says "A+", means "HighestQuality", and that must be one of wanted',
         "Correct the row, or name another table."),
    Typo("a word of a table misspelt", "means: Balanced", "means: Balancd", "config.table-unfit",
         "mappings/mis.yaml:14:53 reads.fields[#7].table", 'row 2, which says "B", means "Balancd"', "Correct the row"),
    Typo("a pattern that is not closed", "says: A+", "says: (A", "config.contradiction", "mappings/mis.yaml:20:5 tables.grades",
         '"(A" is no regular expression', "Correct the value"),
    Typo("a default that does not fit", "default: 5", "default: 5 mm", "config.default-unfit",
         "mappings/mis.yaml:15:34 reads.fields[#8].default", 'The default "5 mm" cannot be a bleed_mm', "Write it in the unit of the field's name"),
    Typo("a spreadsheet that is not there", "materials.csv", "matrials.csv", "config.table-file", "mappings/matrials.csv",
         "No such file or directory", "lies beside the mapping"),
    Typo("a spreadsheet with another separator", "semicolon", "comma", "config.table-file", "mappings/materials.csv:1",
         "it needs one column with the heading says, and has says;means", "separator and encoding of a .csv file stand in tables"),
    Typo("a row of a spreadsheet twice", "S-2;Banner", "S-1;Banner", "config.table-row", "mappings/materials.csv:3",
         '"S-1" stands in line 2 already', "Correct the line", "mappings/materials.csv"),
    Typo("a row of a spreadsheet half empty", "S-2;Banner", "S-2;", "config.table-row", "mappings/materials.csv:3",
         "its cell below says or means is empty", "Correct the line", "mappings/materials.csv"),
    Typo("a place counted from what is not there", 'at: "o:size/@w", unit: cm', 'at: "o:size/@w", unit: cm, within: part',
         "config.contradiction", "mappings/mis.yaml:10:69 reads.fields[#3].within", "reads has no parts", "Correct the value"),
    Typo("a base that is not there", "reads:\n", "based_on: mi\nreads:\n", "config.reference-unknown",
         "mappings/mis.yaml:1:11 based_on", 'There is no mapping called "mi".', 'Did you mean "mis"?'),
    Typo("a mapping based on itself", "reads:\n", "based_on: mis\nreads:\n", "config.contradiction",
         "mappings/mis.yaml:1:11 based_on", "a mapping cannot be based on itself", "Correct the value"),
    Typo("a substrate that is not in the catalogue", "substrate: BANNER", "substrate: BANER", "config.reference-unknown",
         "mappings/mis.yaml:25:38 substrates[#1].substrate", 'There is no substrate called "BANER".', 'Did you mean "BANNER"?'),
]  # fmt: skip


@pytest.fixture
def shop(small_shop: ShopFolder) -> ShopFolder:
    small_shop.write("mappings/mis.yaml", MAPPING)
    small_shop.write("mappings/materials.csv", MATERIALS)
    return small_shop


def test_the_mapping_without_a_mistake_is_loaded_with_its_spreadsheet(shop: ShopFolder) -> None:
    mapping = shop.load().shop.mappings["mis"]

    assert [(row.says, row.means) for row in mapping.tables["materials"].rows] == [
        ("S-1", "Banner"),
        ("S-2", "Banner"),
    ]


@pytest.mark.parametrize("typo", TYPOS, ids=lambda typo: typo.what)
def test_a_mistake_is_found_at_its_place_and_says_what_to_do(shop: ShopFolder, typo: Typo) -> None:
    shop.replace(typo.file, typo.old, typo.new)

    [finding] = shop.complaints()

    assert (finding.code, shop.spot(finding)) == (typo.code, typo.spot)
    assert typo.says in sentence(finding)
    assert typo.advice in remedy(finding)


def test_an_expression_that_never_ends_is_found_and_does_not_keep_the_check_waiting(
    shop: ShopFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    endless = "xpath31: count(1 to 8000000)"
    monkeypatch.setattr(mapping_checks, "COMPILE_S", 0.5)
    shop.replace("mappings/mis.yaml", "at: o:pieces", f"at: '{endless}'")

    [finding] = shop.complaints()

    assert (finding.code, shop.spot(finding)) == (
        "config.expression-endless",
        "mappings/mis.yaml:9:29 reads.fields[#2].at",
    )
    assert "did not end within 0.5 s" in sentence(finding)


def test_what_is_wrong_in_the_base_is_told_once_and_there(shop: ShopFolder) -> None:
    shop.write("mappings/second.yaml", "based_on: mis\npriority: 60\n")
    shop.replace("mappings/mis.yaml", "date_format: DD.MM.YYYY", "date_format: DD.MM.YY")

    assert [shop.spot(finding) for finding in shop.complaints()] == [
        "mappings/mis.yaml:6:16 reads.date_format"
    ]


def test_a_mapping_has_what_its_base_has_and_it_does_not_say(shop: ShopFolder) -> None:
    shop.write("mappings/second.yaml", "based_on: mis\npriority: 60\n")

    first, second = (shop.load().shop.mappings[name] for name in ("mis", "second"))

    assert (second.priority, first.priority) == (60, 50)
    assert (second.reads, second.tables, second.print_modes) == (first.reads, first.tables, first.print_modes)
