"""A shop folder with faults, as ``ticketbridge check`` finds them; then as the remedy wants it."""

import os
import pwd
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from ticketbridge.vocabulary.names import MARKER_NAME

Steps = Iterator[None]
OTHER_DEVICE = Path("/dev/shm")
NOBODY = 65534


def _wrong(scene: Scene, file: str, old: str, new: str) -> Steps:
    """A file with a fault, checked; then corrected, and checked again."""
    scene.edit(file, old, new)
    scene.check()
    yield
    scene.edit(file, new, old)
    scene.check()


# Its files


@provokes("config.shop-missing", "ticketbridge init DIR")
def test_no_shop_in_the_folder_named(scene: Scene) -> Steps:
    made = scene.folder
    scene.folder = made.parent / "empty"
    scene.folder.mkdir()
    scene.check()
    yield
    scene.init(scene.folder)
    scene.check()


@provokes("config.shop-not-empty", "a folder that does not exist yet")
def test_a_new_shop_where_something_lies(scene: Scene) -> Steps:
    scene.init(scene.folder)
    yield
    scene.init(scene.folder.parent / "new")


@provokes("config.file-missing", "the one that ticketbridge init writes into a new folder")
def test_a_file_that_every_shop_has(scene: Scene) -> Steps:
    (scene.folder / "stock.yaml").unlink()
    scene.check()
    yield
    scene.init(scene.folder.parent / "new")
    shutil.copy(scene.folder.parent / "new/stock.yaml", scene.folder / "stock.yaml")
    scene.check()


@provokes("config.file-unknown", 'Did you mean "stock.yaml"?')
def test_a_file_that_nobody_would_read(scene: Scene) -> Steps:
    (scene.folder / "stocks.yaml").write_text("stock: []\n")
    scene.check()
    yield
    (scene.folder / "stocks.yaml").rename(scene.folder / "stock.yaml")
    scene.check()


@provokes("config.file-unreadable", "Check what lies here")
def test_something_else_where_a_file_should_be(scene: Scene) -> Steps:
    (scene.folder / "stock.yaml").rename(scene.folder / "kept.txt")
    (scene.folder / "stock.yaml").mkdir()
    scene.check()
    yield
    (scene.folder / "stock.yaml").rmdir()
    (scene.folder / "kept.txt").rename(scene.folder / "stock.yaml")
    scene.check()


@provokes("config.character", "Save the file as UTF-8")
def test_a_letter_of_another_encoding(scene: Scene) -> Steps:
    file = scene.folder / "shop.yaml"
    file.write_text(file.read_text().replace("Order desk", "Büro"), encoding="latin-1")
    scene.check()
    yield
    file.write_text(file.read_text(encoding="latin-1"), encoding="utf-8")
    scene.check()


@provokes("config.tab", "Replace the tab with blanks")
def test_a_tab(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "    name: Press 1\n", "\tname: Press 1\n")


@provokes("config.yaml-broken", "a missing colon, quote, bracket")
def test_a_missing_bracket(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "lanes: [A]}", "lanes: [A}")


@provokes("config.yaml-feature", "Write the values out")
def test_an_anchor(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "{min: 80, max: 1500}", "&limits {min: 80, max: 1500}")


@provokes("config.key-twice", "Keep one of the two")
def test_a_key_twice(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "ramp_mm: 200\n", "ramp_mm: 200\n    ramp_mm: 300\n")


# Its keys and values


@provokes("config.key-unknown", 'Did you mean "ramp_mm"?')
def test_a_key_misspelt(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "ramp_mm: 200", "rmap_mm: 200")


@provokes("config.key-missing", 'Add "folder:"')
def test_a_key_left_out(scene: Scene) -> Steps:
    yield from _wrong(scene, "shop.yaml", "    folder: hotfolders/mis\n", "    # nothing here\n")


@provokes("config.value", 'Did you mean "colour"?')
def test_a_word_that_is_none_of_those_allowed(scene: Scene) -> Steps:
    yield from _wrong(scene, "print-modes.yaml", '["colour"]', '["color"]')


@provokes("config.not-quoted", 'Write it in quotes: "1.7"')
def test_a_version_without_quotes(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", 'jdf_version: "1.7"', "jdf_version: 1.7")


@provokes("config.contradiction", "Correct the value that is wrong")
def test_a_core_that_is_smaller_outside_than_inside(scene: Scene) -> Steps:
    yield from _wrong(scene, "substrates.yaml", "core_outside_mm: 90", "core_outside_mm: 70")


@provokes("config.range-reversed", "lower end first")
def test_a_range_upside_down(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "{min: 80, max: 1500}", "{min: 1500, max: 80}")


@provokes("config.time-zone", 'Did you mean "Europe/Lisbon"?')
def test_a_time_zone_misspelt(scene: Scene) -> Steps:
    scene.edit("shop.yaml", "time_zone: UTC", "time_zone: Europe/Lisbonn")
    scene.check()
    yield
    scene.edit("shop.yaml", "Europe/Lisbonn", "Europe/Lisbon")
    scene.check()


# What must fit together


@provokes("config.reference-unknown", 'Did you mean "BAN510"?')
def test_a_substrate_that_the_catalogue_does_not_have(scene: Scene) -> Steps:
    yield from _wrong(scene, "stock.yaml", "substrate: BAN510", "substrate: BAN51O")


@provokes("config.id-twice", "its own name")
def test_two_sources_of_one_name(scene: Scene) -> Steps:
    yield from _wrong(scene, "shop.yaml", "- id: counter", "- id: mis")


@provokes("config.folders-overlap", "none inside another")
def test_a_lane_s_folder_inside_another_s(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "folder: lanes/HL-P1-B", "folder: lanes/HL-P1-A/b")


@provokes("config.lanes-overlap", "Correct left_mm or width_mm")
def test_lanes_across_each_other(scene: Scene) -> Steps:
    yield from _wrong(scene, "presses.yaml", "left_mm: 1650", "left_mm: 1600")


@provokes("config.roll-too-wide", "Correct the width of the roll or of the lane")
def test_a_roll_wider_than_its_lane(scene: Scene) -> Steps:
    yield from _wrong(
        scene, "presses.yaml", "lot: B510-2207, width_mm: 1600", "lot: B510-2207, width_mm: 3200"
    )


@provokes("config.channel-unknown", 'Did you mean "White"?')
def test_an_ink_misspelt(scene: Scene) -> Steps:
    yield from _wrong(scene, "print-modes.yaml", "White: 14}", "Withe: 14}")


@provokes("config.channel-not-fitted", "Add the channel to the press that has it, in presses.yaml")
def test_an_ink_that_no_press_has_fitted(scene: Scene) -> Steps:
    scene.edit("print-modes.yaml", "White: 14}", "White: 14, Clear: 12}")
    scene.check()
    yield
    scene.edit("presses.yaml", "Black, White]", "Black, White, Clear]")
    scene.check()


@provokes("config.coverage-without-laydown", 'Did you mean "Black"?')
def test_the_coverage_of_an_ink_that_is_not_laid_down(scene: Scene) -> Steps:
    yield from _wrong(scene, "print-modes.yaml", "Yellow: 22, Black: 10}", "Yellow: 22, Blcak: 10}")


@provokes("config.stack-without-ink", "or remove the stack from this mode")
def test_layers_without_their_ink(scene: Scene) -> Steps:
    yield from _wrong(scene, "print-modes.yaml", '["colour"]', '["colour", "white, colour"]')


@provokes("config.mode-not-allowed", "or allow the mode in substrates.yaml")
def test_a_row_with_a_mode_that_its_substrate_does_not_allow(scene: Scene) -> Steps:
    row = "  - {substrate: BAN510, print_mode: fine-8}\n"
    scene.edit("mappings/mis.yaml", "print_modes:\n", f"print_modes:\n{row}")
    scene.check()
    yield
    scene.edit("substrates.yaml", "[fast-4, banner-6]", "[fast-4, banner-6, fine-8]")
    scene.check()


@provokes("config.stack-not-in-mode", "or add the stack to the mode")
def test_a_row_with_layers_that_its_mode_does_not_print(scene: Scene) -> Steps:
    yield from _wrong(
        scene,
        "mappings/mis.yaml",
        '"colour, white", print_mode: white-8',
        '"colour, white", print_mode: fine-8',
    )


# Its folders


@provokes("config.folder-missing", "make the folder and an empty file .ticketbridge in it")
def test_a_folder_that_is_gone(scene: Scene) -> Steps:
    shutil.rmtree(scene.drop_folder())
    scene.check()
    yield
    scene.drop_folder().mkdir()
    (scene.drop_folder() / MARKER_NAME).touch()
    scene.check()


@provokes("config.marker-missing", f"make an empty file {MARKER_NAME} in it")
def test_a_folder_without_its_marker(scene: Scene) -> Steps:
    (scene.drop_folder() / MARKER_NAME).unlink()
    scene.check()
    yield
    (scene.drop_folder() / MARKER_NAME).touch()
    scene.check()


@provokes("config.folder-twice", "Remove the link")
def test_one_folder_under_two_names(scene: Scene) -> Steps:
    lanes = scene.folder / "lanes"
    (lanes / "HL-P1-B/in").rename(lanes / "kept")
    (lanes / "HL-P1-B/in").symlink_to(lanes / "HL-P1-A/in")
    scene.check()
    yield
    (lanes / "HL-P1-B/in").unlink()
    (lanes / "kept").rename(lanes / "HL-P1-B/in")
    scene.check()


@contextmanager
def _as_another_account(scene: Scene) -> Iterator[None]:
    """Root may do everything, so where the tests run as root the account is changed for a moment."""
    kept = scene.folder
    with TemporaryDirectory() as open_to_all:
        Path(open_to_all).chmod(0o755)
        scene.folder = Path(shutil.copytree(kept, Path(open_to_all) / "shop"))
        for folder in [scene.folder, *scene.folder.rglob("*/")]:
            folder.chmod(0o777)
        yield
        scene.folder.chmod(0o777)
        scene.folder = kept


def _check_as_another(scene: Scene) -> None:
    if os.geteuid() != 0:
        scene.check()
        return
    os.seteuid(NOBODY)
    try:
        scene.check()
    finally:
        os.seteuid(0)


@provokes("config.folder-unreachable", "the right to enter that folder")
def test_a_folder_that_may_not_be_entered(scene: Scene) -> Steps:
    with _as_another_account(scene):
        (scene.folder / "hotfolders/mis").chmod(0)
        _check_as_another(scene)
        (scene.folder / "hotfolders/mis").chmod(0o755)
        yield
        (scene.folder / "hotfolders/mis").chmod(0o777)
        _check_as_another(scene)


@provokes("config.folder-not-writable", "the right to create, rename and remove files there")
def test_a_folder_that_may_not_be_written_to(scene: Scene) -> Steps:
    with _as_another_account(scene):
        scene.drop_folder().chmod(0o555)
        _check_as_another(scene)
        yield
        scene.drop_folder().chmod(0o777)
        _check_as_another(scene)


@provokes("config.folder-sticky", "Take the sticky bit away (chmod -t)")
def test_a_folder_in_which_nobody_renames_what_others_put_there(scene: Scene) -> Steps:
    if os.geteuid() != 0:
        pytest.skip("only root can give a folder to another account")
    with _as_another_account(scene):
        scene.drop_folder().chmod(0o1777)
        _check_as_another(scene)
        assert {one.facts["account"] for one in scene.heard} == {pwd.getpwuid(NOBODY).pw_name}
        yield
        scene.drop_folder().chmod(0o777)
        _check_as_another(scene)


@provokes("config.folders-on-two-devices", "on one file system")
def test_folders_of_one_source_on_two_devices(
    scene: Scene, tmp_path_factory: pytest.TempPathFactory
) -> Steps:
    if not OTHER_DEVICE.is_dir() or OTHER_DEVICE.stat().st_dev == scene.folder.stat().st_dev:
        pytest.skip("this machine has only one file system to test with")
    elsewhere = OTHER_DEVICE / tmp_path_factory.mktemp("device").name
    claimed = scene.folder / "hotfolders/mis/claimed"
    shutil.move(claimed, elsewhere)
    try:
        claimed.symlink_to(elsewhere)
        scene.check()
    finally:
        claimed.unlink()
        shutil.move(elsewhere, claimed)
    yield
    scene.check()


def _mounted(scene: Scene, monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """The kernel says that a folder lies on a network file system, in its own words (proc_pid_mountinfo(5))."""
    lines = ["1 0 8:1 / / rw - ext4 /dev/vda rw"]
    if folder.is_relative_to(scene.folder):
        lines.append(f"2 1 0:40 / {folder} rw - nfs4 nas:/jobs rw")
    table = scene.folder.parent / "mountinfo"
    table.write_text("".join(f"{line}\n" for line in lines))
    monkeypatch.setattr("ticketbridge.config.folders.MOUNTINFO", table)


@provokes("config.store-on-network", "on a disk of this machine")
def test_a_store_on_a_share(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    _mounted(scene, monkeypatch, scene.folder / "state")
    scene.check()
    yield
    _mounted(scene, monkeypatch, Path("/elsewhere"))
    scene.check()


@provokes("config.events-on-network", "Set watch.events: false for this source")
def test_events_from_a_share(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    _mounted(scene, monkeypatch, scene.folder / "hotfolders/mis")
    scene.check()
    yield
    scene.edit("shop.yaml", "events: true", "events: false")
    scene.check()


@provokes("config.artwork-root-missing", "or make the folder")
def test_a_folder_for_artwork_that_is_not_there(scene: Scene) -> Steps:
    (scene.folder / "artwork").rmdir()
    scene.check()
    yield
    (scene.folder / "artwork").mkdir()
    scene.check()
