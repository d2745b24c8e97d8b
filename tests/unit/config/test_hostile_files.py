"""Files that nobody writes by accident, and files that are hardly files at all."""

import os
import time

import pytest

from ticketbridge.config.document import DEEPEST, LARGEST_FILE_BYTES, read_document
from ticketbridge.model.codes import sentence


def test_aliases_that_would_grow_to_gigabytes_are_refused_at_the_first_anchor(small_shop):
    bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
        f"{name}: &{name} [{', '.join(['*' + before] * 9)}]\n"
        for before, name in zip("abcdefgh", "bcdefghi", strict=True)
    )
    small_shop.write("stock.yaml", bomb)

    found = small_shop.complaints()

    assert [small_shop.spot(finding) for finding in found] == ["stock.yaml:1:4"]
    assert "the anchor &a" in sentence(found[0])


@pytest.mark.parametrize("opening", ["[", "{", "- ", "? "], ids=["lists", "blocks", "dashes", "keys"])
def test_nesting_without_end_is_refused_at_once(small_shop, opening):
    small_shop.write("stock.yaml", "stock: " * (opening == "[") + opening * 200_000)

    start_s = time.monotonic()
    found = small_shop.complaints()

    assert [finding.code for finding in found] == ["config.yaml-feature"]
    assert f"more than {DEEPEST} levels of nesting" in sentence(found[0])
    assert time.monotonic() - start_s < 5


def test_a_file_larger_than_the_limit_is_not_read_to_its_end(small_shop):
    with (small_shop.folder / "stock.yaml").open("wb") as file:
        file.truncate(LARGEST_FILE_BYTES * 1000)

    found = small_shop.complaints()

    assert [small_shop.spot(finding) for finding in found] == ["stock.yaml"]
    assert f"it is larger than {LARGEST_FILE_BYTES} bytes" in sentence(found[0])


def test_a_pipe_in_place_of_a_file_does_not_hold_the_bridge_up(small_shop):
    (small_shop.folder / "stock.yaml").unlink()
    os.mkfifo(small_shop.folder / "stock.yaml")

    assert [sentence(finding) for finding in small_shop.complaints()] == [
        "This cannot be read: it is not an ordinary file."
    ]


def test_bytes_that_are_not_utf_8_are_placed_by_line_and_column(small_shop):
    small_shop.write("stock.yaml", "# rolls\nstock: [] # für\n".encode("latin-1"))

    found = small_shop.complaints()

    assert [small_shop.spot(finding) for finding in found] == ["stock.yaml:2:14"]
    assert "byte 0xfc" in sentence(found[0])


def test_a_control_character_is_placed_by_line_and_column(small_shop):
    small_shop.write("stock.yaml", "stock:\n  - lot: \x07bell\n")

    found = small_shop.complaints()

    assert [small_shop.spot(finding) for finding in found] == ["stock.yaml:2:10"]
    assert "U+0007" in sentence(found[0])


def test_a_directive_that_changes_the_meaning_of_words_is_refused(small_shop):
    small_shop.write("stock.yaml", "%YAML 1.1\n---\nstock: []\n")

    assert [sentence(finding) for finding in small_shop.complaints()] == [
        "Here stands a % directive; shop files are plain keys, lists and values."
    ]


def test_a_number_of_a_hundred_thousand_digits_is_a_complaint_and_no_crash(small_shop):
    small_shop.replace("presses.yaml", "ramp_mm: 200", "ramp_mm: " + "9" * 100_000)

    found = small_shop.complaints()

    assert [small_shop.spot(finding) for finding in found] == ["presses.yaml:7:14 presses[P1].ramp_mm"]
    assert len(sentence(found[0])) < 200


def test_terminal_control_sequences_in_a_value_are_escaped_in_the_complaint(small_shop):
    small_shop.replace("substrates.yaml", "family: banner", 'family: "\\e[2Jbanner\\u202e"')

    text = sentence(small_shop.complaints()[0])

    assert "\\x1b[2Jbanner\\u202e" in text
    assert text.isprintable()


def test_a_key_that_is_a_block_is_a_complaint(small_shop):
    small_shop.write("stock.yaml", "stock: []\n{a: b}: c\n")

    found = small_shop.complaints()

    assert [small_shop.spot(finding) for finding in found] == ["stock.yaml:2:1"]
    assert "a key that is a list or a block" in sentence(found[0])


@pytest.mark.parametrize("text", ["", "# nothing yet\n", "~\n", "[]\n", "just words\n", "17\n"])
def test_a_file_that_is_no_block_of_keys_is_told_so(small_shop, text):
    small_shop.write("shop.yaml", text)

    found = small_shop.complaints()

    assert [(finding.code, small_shop.spot(finding)) for finding in found] == [
        ("config.value", "shop.yaml:1:1")
    ]
    assert "it must be a block of keys" in sentence(found[0])


def test_yaml_1_2_leaves_the_shop_s_words_alone(tmp_path):
    # YAML 1.1 made false of "no", 1320 of "22:00" and 8 of "010"; YAML 1.2 (core schema, chapter 10.3) does not.
    file = tmp_path / "words.yaml"
    file.write_text("lane: no\nshift: 22:00\ndrawer: 010\nlot: 2026-03-01\n")

    document, findings = read_document(file)

    assert findings == []
    assert document is not None
    assert document.data == {"lane": "no", "shift": "22:00", "drawer": 10, "lot": "2026-03-01"}


def test_a_byte_order_mark_is_no_complaint(small_shop):
    small_shop.write("stock.yaml", b"\xef\xbb\xbfstock: []\n")

    assert small_shop.load().shop.stock == ()
