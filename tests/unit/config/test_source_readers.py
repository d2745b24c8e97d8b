"""What a source says of its own kinds of files: complaints stand at their line, and say what to do."""

import pytest

from tests.unit.config.conftest import ShopFolder
from ticketbridge.model.codes import remedy, sentence

READS = """\
reads:
  kind: csv
  fields:
    - {field: job_id, at: Order}
    - {field: finished_width_mm, at: Width, unit: cm}
    - {field: finished_height_mm, at: Height}
    - {field: quantity, at: Pieces}
    - {field: artwork_url, at: File}
substrates:
  - {media_type: Vinyl, weight_g_m2: [480, 540], substrate: BANNER}
"""
SUBSTRATES = READS.partition("  - {field: artwork_url, at: File}\n")[2]


def complaint(shop: ShopFolder) -> tuple[str, str, str, str]:
    [finding] = shop.complaints()
    return finding.code, shop.spot(finding), sentence(finding), remedy(finding)


@pytest.mark.parametrize(
    ("what", "old", "new", "code", "spot", "says"),
    [
        ("a field nobody knows", "field: quantity", "field: quantitty", "config.value",
         "mappings/mis.yaml:7:15 reads.fields[#4].field", 'It says "quantitty"'),
        ("a unit nobody knows", "unit: cm", "unit: yd", "config.value",
         "mappings/mis.yaml:5:51 reads.fields[#2].unit", 'It says "yd"'),
        ("a unit for pieces", "at: Pieces}", "at: Pieces, unit: cm}", "config.contradiction",
         "mappings/mis.yaml:7:7 reads.fields[#4]", "quantity cannot be counted in cm"),
        ("no row for what every order needs", "    - {field: artwork_url, at: File}\n", "",
         "config.contradiction", "mappings/mis.yaml:2:3 reads", "no row gives artwork_url"),
        ("a comma with two meanings", "  kind: csv\n", "  kind: csv\n  decimal_sign: comma\n",
         "config.contradiction", "mappings/mis.yaml:2:3 reads", "a comma cannot both"),
        ("an encoding nobody reads", "  kind: csv\n", "  kind: csv\n  encoding: utf-16\n", "config.value",
         "mappings/mis.yaml:3:13 reads.encoding", 'It says "utf-16"'),
    ],
)  # fmt: skip
def test_a_mistake_in_the_rows_for_order_lines_is_found_at_its_line(
    small_shop: ShopFolder, what: str, old: str, new: str, code: str, spot: str, says: str
) -> None:
    small_shop.replace("mappings/mis.yaml", SUBSTRATES, READS)
    small_shop.replace("mappings/mis.yaml", old, new)

    found = complaint(small_shop)

    assert (found[0], found[1]) == (code, spot)
    assert says in found[2]


def test_what_becomes_of_bad_lines_is_found_misspelt_at_its_line(small_shop: ShopFolder) -> None:
    small_shop.replace("shop.yaml", "    mapping: mis\n", "    mapping: mis\n    bad_lines: take good\n")

    assert complaint(small_shop)[:2] == ("config.value", "shop.yaml:8:16 sources[mis].bad_lines")


@pytest.mark.parametrize(
    ("what", "keys", "code", "spot", "says"),
    [
        ("a pattern that repeats a group", "standing_ticket: {stock_brand: X, name_pattern: '(?P<job_id>(a+)+)'}",
         "config.contradiction", "shop.yaml:8:53 sources[mis].standing_ticket.name_pattern", "it repeats a group"),
        ("no substrate", "standing_ticket: {quantity: 2}", "config.contradiction",
         "shop.yaml:8:22 sources[mis].standing_ticket", "says a substrate"),
        ("a path that is not absolute", "artwork_paths: [{mis: art, here: art}]", "config.contradiction",
         "shop.yaml:8:27 sources[mis].artwork_paths[#1].mis", "no share, drive, URL"),
        ("patience in words", "artwork_patience_s: long", "config.value",
         "shop.yaml:8:25 sources[mis].artwork_patience_s", 'It says "long"'),
    ],
)  # fmt: skip
def test_a_mistake_about_artwork_is_found_at_its_line(
    small_shop: ShopFolder, what: str, keys: str, code: str, spot: str, says: str
) -> None:
    small_shop.replace("shop.yaml", "    mapping: mis\n", f"    mapping: mis\n    {keys}\n")

    found = complaint(small_shop)

    assert (found[0], found[1]) == (code, spot)
    assert says in found[2]
