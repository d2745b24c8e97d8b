"""What a source says of its own kinds of files: complaints stand at their line, and say what to do."""

import pytest

from tests.unit.config.conftest import ShopFolder
from ticketbridge.model.codes import remedy, sentence

CSV = """\
    mapping: mis
    csv:
      columns:
        - {heading: Order, field: job_id}
        - {heading: Width, field: finished_width_mm, unit: cm}
        - {heading: Height, field: finished_height_mm}
        - {heading: Pieces, field: quantity}
        - {heading: File, field: artwork_url}
"""


def complaint(shop: ShopFolder) -> tuple[str, str, str, str]:
    [finding] = shop.complaints()
    return finding.code, shop.spot(finding), sentence(finding), remedy(finding)


@pytest.mark.parametrize(
    ("what", "old", "new", "code", "spot", "says"),
    [
        ("a field nobody knows", "field: quantity", "field: quantitty", "config.value",
         "shop.yaml:13:36 sources[mis].csv.columns[#4].field", 'It says "quantitty"'),
        ("a unit nobody knows", "unit: cm", "unit: yd", "config.value",
         "shop.yaml:11:60 sources[mis].csv.columns[#2].unit", 'It says "yd"'),
        ("a unit for pieces", "field: quantity}", "field: quantity, unit: cm}", "config.contradiction",
         "shop.yaml:13:11 sources[mis].csv.columns[#4]", "quantity is no length"),
        ("no column for what every order needs", "        - {heading: File, field: artwork_url}\n", "",
         "config.contradiction", "shop.yaml:9:7 sources[mis].csv", "no column holds artwork_url"),
        ("a heading twice", "heading: Height", "heading: ' width'", "config.contradiction",
         "shop.yaml:9:7 sources[mis].csv", "width is given in two rows"),
        ("a comma with two meanings", "    csv:\n", "    csv:\n      decimal_sign: comma\n",
         "config.contradiction", "shop.yaml:9:7 sources[mis].csv", "a comma cannot both"),
        ("an encoding nobody reads", "    csv:\n", "    csv:\n      encoding: utf-16\n", "config.value",
         "shop.yaml:9:17 sources[mis].csv.encoding", 'It says "utf-16"'),
        ("what becomes of bad lines, misspelt", "    csv:\n", "    bad_lines: take good\n    csv:\n",
         "config.value", "shop.yaml:8:16 sources[mis].bad_lines", 'It says "take good"'),
    ],
)  # fmt: skip
def test_a_mistake_in_a_csv_table_is_found_at_its_line(
    small_shop: ShopFolder, what: str, old: str, new: str, code: str, spot: str, says: str
) -> None:
    small_shop.replace("shop.yaml", "    mapping: mis\n", CSV)
    small_shop.replace("shop.yaml", old, new)

    found = complaint(small_shop)

    assert (found[0], found[1]) == (code, spot)
    assert says in found[2]


def test_a_csv_table_without_a_mistake_is_loaded(small_shop: ShopFolder) -> None:
    small_shop.replace("shop.yaml", "    mapping: mis\n", CSV)

    assert small_shop.load().shop.settings.sources[0].csv is not None


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
