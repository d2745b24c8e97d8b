"""What an administrator asks of a mapping, by the commands as they are typed."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.exports.shop import copy_exports_shop
from ticketbridge.cli import main

EXPORTS = ["branch", "estimating", "order-desk", "planning", "reseller", "web-shop"]


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exports") / "shop"
    copy_exports_shop(folder)
    return folder


@pytest.fixture
def shop(original: Path, tmp_path: Path) -> Path:
    """A shop of one's own to spoil."""
    return Path(shutil.copytree(original, tmp_path / "shop"))


def ask(shop: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["mapping", words[0], "--shop", str(shop), *words[1:]])


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_try_shows_every_value_beside_where_it_stands_and_the_row_that_took_it(original: Path) -> None:
    answer = ask(original, "try", str(original / "mappings/estimating.cases/orders.xml"))

    assert answer.exit_code == 0
    lines = answer.output.splitlines()
    [width] = [line for line in lines[:25] if "finished_width_mm" in line]
    assert width.split(maxsplit=2) == [
        "items[0].finished_width_mm",
        "1450",
        'ticket reads.fields row 11, from "145" at /export/order[1]/lines/line/part/size, line 18',
    ]
    [substrate] = [line for line in lines[:25] if ".substrate " in line]
    assert 'substrates row 1 after reads.fields row 15 by estimating-materials.csv, "S-510"' in substrate
    [priority] = [line for line in lines[:25] if "priority" in line]
    assert "mapping reads.fields row 7, its default" in priority
    assert lines[-1] == "12 of 12 orders can be made of orders.xml by the mapping estimating."


def test_try_tells_programs_the_same(original: Path) -> None:
    answer = ask(original, "try", "--json", str(original / "mappings/reseller.cases/orders.xlsx"))

    told = json.loads(answer.output)
    assert len(told) == 12
    assert told[0]["origins"]["items[0].finished_width_mm"] == {
        "whence": "ticket", "entry": "reads.fields row 11", "raw": "1.45", "path": "Orders!J5", "line": 5,
    }  # fmt: skip


def test_the_cases_of_all_six_exports_are_as_expected(original: Path) -> None:
    answer = ask(original, "test")

    assert (answer.exit_code, answer.output.splitlines()[-1]) == (0, "28 as expected, 0 not.")
    assert {line.split()[1].partition(".")[0] for line in answer.output.splitlines()[:-1]} == set(EXPORTS)


def test_a_changed_table_fails_its_cases_and_says_what_is_and_what_was_expected(shop: Path) -> None:
    change(
        shop / "mappings/web-shop.yaml",
        r"{says: VIN/WHT, means: Harbour Vinyl White}",
        r"{says: VIN/WHT, means: Harbour Silver}",
    )

    answer = ask(shop, "test", "web-shop")

    assert answer.exit_code == 1
    assert "order HL-31009 items 1 substrate: expected VINYL-WHITE, is METAL-SILVER" in answer.output


def test_an_order_that_nobody_expected_and_one_that_is_refused_are_told(shop: Path) -> None:
    change(shop / "mappings/web-shop.cases/orders.json", '"HL-31001"', '"HL-99999"')
    change(shop / "mappings/web-shop.cases/orders.json", '"VIN/WHT"', '"VIN/RED"')

    said = ask(shop, "test", "web-shop").output

    assert "order HL-31001: expected an order, is nothing" in said
    assert "order HL-99999: expected nothing, is an order that nobody expected" in said
    assert (
        'order HL-31009: expected an order, is refused: The table skus (the mapping) has no row for "VIN/RED"'
        in said
    )


def test_a_case_without_an_expectation_is_told_and_written_when_asked(shop: Path) -> None:
    expected = shop / "mappings/branch.cases/orders.csv.expected.yaml"
    before = expected.read_text(encoding="utf-8")
    expected.unlink()

    assert ask(shop, "test", "branch").output.startswith("without  branch.cases/orders.csv\n")
    assert "1 expectations written" in ask(shop, "test", "branch", "--write").output
    assert expected.read_text(encoding="utf-8") == before
    assert ask(shop, "test", "branch").exit_code == 0


def test_coverage_counts_the_values_without_a_row_and_names_what_they_may_mean(shop: Path) -> None:
    past = shop / "past"
    past.mkdir()
    text = (shop / "mappings/web-shop.cases/orders.json").read_text(encoding="utf-8")
    (past / "monday.json").write_text(text.replace("MSH/270/320", "MSH-270-320"), encoding="utf-8")
    (past / "tuesday.json").write_text(
        text.replace("MSH/270/320", "MSH-270-320").replace("VIN/WHT", "VINYL/WHT")
    )

    answer = ask(shop, "coverage", str(past), "--mapping", "web-shop", "--json")

    told = json.loads(answer.output)
    assert answer.exit_code == 1
    assert (told["files"], told["orders"], told["mapped"]) == (2, 24, 19)
    assert [(one["value"], one["orders"], one["likely"][0]) for one in told["unmapped"]] == [
        ("MSH-270-320", 4, "Harbour Mesh 270"),
        ("VINYL/WHT", 1, "Harbour Vinyl White"),
    ]


def test_coverage_of_what_is_mapped_says_so(original: Path) -> None:
    answer = ask(original, "coverage", str(original / "mappings/order-desk.cases"))

    assert (answer.exit_code, answer.output) == (
        0, "12 orders in 12 files by the mapping order-desk: 12 can be made.\n",
    )  # fmt: skip


def test_replay_shows_exactly_what_a_changed_table_changes(shop: Path) -> None:
    new = Path(shutil.copytree(shop / "mappings", shop / "new"))
    change(new / "estimating-materials.csv", "S-240,Harbour Vinyl White", "S-240,Harbour Banner 510")

    answer = ask(
        shop,
        "replay",
        str(shop / "mappings/estimating.cases"),
        "--against",
        str(new / "estimating.yaml"),
        "--json",
    )

    [changed] = json.loads(answer.output)["changed"]
    assert changed["job_id"] == "HL-31009"
    assert changed["values"] == [
        {"at": "items[0].substrate", "before": "VINYL-WHITE", "after": "BAN510"},
        {"at": "items[0].print_mode", "before": "fine-8", "after": "banner-6"},
    ]
    assert changed["lanes"] == [{"at": "item 1", "before": "HL-P1-A", "after": "HL-P2-W"}]
    [lines] = changed["tickets"]
    assert any(line.startswith("-") and "fine-8" in line for line in lines)
    assert any(line.startswith("+") and "banner-6" in line for line in lines)


def test_replay_shows_what_would_be_refused_and_says_when_nothing_changes(shop: Path) -> None:
    new = Path(shutil.copytree(shop / "mappings", shop / "new"))
    change(new / "web-shop.yaml", r"      - {says: VIN/WHT, means: Harbour Vinyl White}", "")
    cases = str(shop / "mappings/web-shop.cases")

    refused = ask(shop, "replay", cases, "--against", str(new / "web-shop.yaml"))
    same = ask(shop, "replay", cases, "--against", "web-shop")

    assert (
        'the order: is taken  ->  is refused: The table skus (the mapping) has no row for "VIN/WHT"'
        in refused.output
    )
    assert refused.output.endswith("11 stay as they are, 1 change.\n")
    assert (same.exit_code, same.output) == (
        0, "12 orders in 1 file, web-shop against web-shop: 12 stay as they are, 0 change.\n",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["test", "web-shopp"], "There is no mapping web-shopp; there are branch"),
        (["coverage", "{shop}/state"], "No file below"),
        (["replay", "{shop}/mappings", "--against", "nobody"], "There is no mapping nobody"),
    ],
)
def test_a_wrong_word_is_answered_with_the_right_ones(shop: Path, words: list[str], says: str) -> None:
    (shop / "state").mkdir()

    answer = ask(shop, *(word.format(shop=shop) for word in words))

    assert (answer.exit_code, says in answer.output) == (2, True)


def test_a_draft_is_printed_or_written_under_a_name_that_is_free(shop: Path) -> None:
    sample = str(shop / "mappings/web-shop.cases/orders.json")
    printed = ask(shop, "draft", sample)
    written = ask(shop, "draft", sample, "--as", "fresh")

    assert (printed.exit_code, written.exit_code) == (0, 0)
    assert (shop / "mappings" / "fresh.yaml").read_text(encoding="utf-8") == printed.stdout
    assert f"{printed.stdout.count('ask:')} questions" in written.stdout
    assert ask(shop, "draft", sample, "--as", "fresh").exit_code == 2
    assert ask(shop, "draft", sample, "--as", "../out").exit_code == 2
    assert ask(shop, "try", sample, "--mapping", "fresh").exit_code in (0, 1)


def test_a_file_that_nothing_can_be_drafted_from_says_why(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "empty.json").write_text("{}")
    answer = ask(shop, "draft", str(tmp_path / "empty.json"))

    assert answer.exit_code == 1
    assert "No mapping can be drafted: no values stand in the samples" in answer.stderr
