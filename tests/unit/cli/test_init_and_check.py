"""``init`` makes a shop, ``check`` says whether it is right."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from ticketbridge.cli.check import check
from ticketbridge.cli.init import init
from ticketbridge.vocabulary.names import MARKER_NAME

SOURCES = ("mis", "counter", "pdf-drop")
"""Of the sample shop."""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "harbourlight"
    assert CliRunner().invoke(init, [str(folder)]).exit_code == 0
    return folder


def checked(folder: Path, *options: str) -> Result:
    return CliRunner().invoke(check, ["--shop", str(folder), *options])


def test_a_new_shop_is_clean(shop):
    result = checked(shop)

    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith("Harbourlight Graphics: the files are right and the folders are ready.\n")


def test_init_tells_what_it_made_and_the_next_two_commands(tmp_path):
    folder = tmp_path / "new/shop"

    result = CliRunner().invoke(init, [str(folder)])

    lines = result.stdout.splitlines()
    assert f"Made a shop in {folder}: Harbourlight Graphics" == lines[0]
    assert {
        "  shop.yaml",
        "  mappings/mis.yaml",
        "  hotfolders/mis/drop",
        "  lanes/HL-P1-A/in",
        "  state",
    } < set(lines)
    assert ["Next:", f"  ticketbridge check --shop {folder}", f"  ticketbridge run --shop {folder}"] == lines[
        -3:
    ]


def test_init_makes_every_hot_folder_with_its_marker(shop):
    for folder in (
        "drop",
        "claimed",
        "waiting",
        "accepted",
        "artwork",
        "repeated",
        "refused",
        "status",
        "returned",
    ):
        assert (shop / "hotfolders/mis" / folder / MARKER_NAME).is_file()
    for lane in ("HL-P1-A", "HL-P1-B", "HL-P2-W"):
        for folder in ("in", "status", "returned"):
            assert (shop / "lanes" / lane / folder / MARKER_NAME).is_file()


def test_init_takes_an_empty_folder(tmp_path):
    assert CliRunner().invoke(init, [str(tmp_path)]).exit_code == 0


def test_init_leaves_a_folder_with_something_in_it_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("dear")

    result = CliRunner().invoke(init, [str(tmp_path)])

    assert result.exit_code == 1
    assert f"The folder {tmp_path} is not empty, so no shop was made in it." in result.stderr
    assert "Name a folder that does not exist yet, or an empty one." in result.stderr
    assert [tmp_path / "letter.txt"] == list(tmp_path.iterdir())


def test_init_says_where_it_may_not_write():
    # The kernel's own folder: nobody, not even root, may make a folder there.
    result = CliRunner().invoke(init, ["/proc/self/shop"])

    assert result.exit_code == 1
    assert "/proc/self/shop cannot be written" in result.stderr
    assert "Choose a folder that this account may write to" in result.stderr


def test_check_prints_each_complaint_with_its_place_and_its_remedy(shop):
    file = shop / "presses.yaml"
    lines = file.read_text().splitlines(keepends=True)
    number = next(index for index, line in enumerate(lines) if "ramp_mm" in line and "#" not in line)
    lines[number] = lines[number].replace("ramp_mm", "rmap_mm")
    file.write_text("".join(lines))

    result = checked(shop)

    assert result.exit_code == 1
    complaint, advice = result.stdout.splitlines()
    assert f'{file}:{number + 1}:5 presses[P1].rmap_mm: The key "rmap_mm" is unknown here.' == complaint
    assert advice.startswith('    Did you mean "ramp_mm"? Keys allowed here: id, name,')


def test_check_finds_a_folder_that_is_not_mounted(shop):
    (shop / "hotfolders/mis/drop" / MARKER_NAME).unlink()

    result = checked(shop)

    assert result.exit_code == 1
    assert f"The folder {shop}/hotfolders/mis/drop has no file {MARKER_NAME}" in result.stdout
    assert "the folders are ready" not in result.stdout


def test_a_warning_is_printed_as_one_and_stops_nothing(shop):
    (shop / "artwork").rmdir()

    result = checked(shop)

    assert result.exit_code == 0
    assert f"warning: The folder for artwork {shop}/artwork does not exist" in result.stdout
    assert "the folders are ready" in result.stdout


def test_the_summary_names_each_roll_with_its_weight_and_what_is_left(shop):
    result = checked(shop)

    # 1.6 m x 50 m x 510 g/m2 is 40.8 kg; the core of 1.2 kg comes on top.
    assert "    BAN510, lot B510-2207, 1600 mm wide, 50 m left, 42 kg\n" in result.stdout
    # 1.6 m x 30 m x 380 g/m2 is 18.24 kg; the core of 1 kg comes on top.
    assert "    CANVAS380, lot C380-0915, 1600 mm wide, 30 m left, 19.2 kg\n" in result.stdout


def test_the_summary_cautions_before_a_heavy_roll_is_lifted(shop):
    cautions = {roll["lot"]: roll["caution"] for roll in rolls_of(checked(shop, "--json"))}

    assert "82.8 kg, more than the 25 kg" in cautions["B510-2211"]
    assert cautions["C380-0915"] is None


def test_the_lifting_limit_is_the_shop_s_own(shop):
    file = shop / "shop.yaml"
    file.write_text(file.read_text().replace("lifting_limit_kg: 25", "lifting_limit_kg: 100"))

    assert {None} == {roll["caution"] for roll in rolls_of(checked(shop, "--json"))}


def rolls_of(result: Result) -> list[dict[str, object]]:
    summary = json.loads(result.stdout)["shop"]
    return [*(lane["roll"] for lane in summary["lanes"]), *summary["shelf"]]


def test_json_has_the_summary_of_a_shop_that_is_right(shop):
    result = checked(shop, "--json")

    answer = json.loads(result.stdout)
    assert (result.exit_code, answer["ok"], answer["findings"]) == (0, True, [])
    assert [lane["device_id"] for lane in answer["shop"]["lanes"]] == ["HL-P1-A", "HL-P1-B", "HL-P2-W"]
    assert [str(shop / f"hotfolders/{name}/drop") for name in SOURCES] == [
        source["drop"] for source in answer["shop"]["sources"]
    ]


def test_json_has_the_findings_of_a_shop_that_is_wrong(shop):
    (shop / "stock.yaml").write_text(
        "stock:\n  - {substrate: BANANA, lot: L1, width_mm: 1600, length_left_m: 5}\n"
    )

    result = checked(shop, "--json")

    answer = json.loads(result.stdout)
    assert (result.exit_code, answer["ok"], answer["shop"]) == (1, False, None)
    (finding,) = answer["findings"]
    assert (finding["code"], finding["severity"]) == ("config.reference-unknown", "Error")
    assert {
        "file": str(shop / "stock.yaml"),
        "line": 2,
        "column": 17,
        "path": "stock[#1].substrate",
    } == finding["place"]
    assert finding["sentence"] == 'There is no substrate called "BANANA".'


def test_check_looks_at_the_current_folder_when_none_is_named(shop, monkeypatch):
    monkeypatch.chdir(shop)

    assert CliRunner().invoke(check, []).exit_code == 0


def test_check_of_a_folder_that_is_no_shop_says_how_to_make_one(tmp_path):
    result = checked(tmp_path)

    assert result.exit_code == 1
    assert "There is no shop here" in result.stdout
    assert "ticketbridge init DIR" in result.stdout


def test_check_explains_a_key():
    result = CliRunner().invoke(check, ["--explain", "lanes.ahead"])

    assert result.exit_code == 0
    assert result.stdout.splitlines() == [
        "presses[].lanes[].ahead  (presses.yaml)",
        "  a whole number of 0 or more; default: 1",
        "  Tickets given to the lane ahead of what it has finished; 0 means no limit.",
    ]


def test_check_has_nothing_to_explain_about_a_key_that_is_not_there():
    result = CliRunner().invoke(check, ["--explain", "colour_of_the_door"])

    assert result.exit_code == 1
    assert "No file of a shop has a key colour_of_the_door." in result.stderr


def test_a_checked_shop_is_unchanged(shop):
    before = {path: path.stat().st_mtime_ns for path in shop.rglob("*") if path.is_file()}

    checked(shop)

    assert before == {path: path.stat().st_mtime_ns for path in shop.rglob("*") if path.is_file()}


def test_a_shop_can_be_moved_as_a_whole(shop, tmp_path):
    shutil.copytree(shop, tmp_path / "elsewhere")
    shutil.rmtree(shop)

    assert checked(tmp_path / "elsewhere").exit_code == 0
