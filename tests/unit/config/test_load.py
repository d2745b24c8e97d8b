"""A shop folder as a whole: which files it must have, and what comes out."""

from pathlib import Path

import pytest

from ticketbridge.config.load import ConfigRefused, load_shop
from ticketbridge.model.codes import remedy, sentence


def test_a_shop_is_loaded_with_everything_by_its_id(small_shop):
    shop = small_shop.load().shop

    assert list(shop.lanes()) == ["DEV-A", "DEV-B"]
    assert list(shop.substrates) == ["BANNER"]
    assert list(shop.print_modes) == ["six", "white"]
    assert list(shop.mappings) == ["mis"]
    assert shop.stock[0].lot == "L2"


def test_a_loaded_shop_knows_where_its_values_stand(small_shop):
    loaded = small_shop.load()

    place = loaded.place("presses.yaml", ("presses", 0, "lanes", 1, "folder"))

    assert f"{small_shop.folder}/presses.yaml:25:17 presses[P1].lanes[B].folder" == str(place)


def test_folders_are_relative_to_the_shop_folder_unless_they_are_absolute(small_shop):
    loaded = small_shop.load()

    assert small_shop.folder / "hot/mis" == loaded.resolved("hot/mis")
    assert Path("/srv/jobs") == loaded.resolved("/srv/jobs")
    assert small_shop.folder / "state" == loaded.state_folder


def test_a_relative_shop_folder_is_made_absolute(small_shop, monkeypatch):
    monkeypatch.chdir(small_shop.folder.parent)

    assert small_shop.folder == load_shop(Path("shop")).folder


def test_loading_writes_nothing(small_shop):
    before = {
        file: (file.read_bytes(), file.stat().st_mtime_ns)
        for file in small_shop.folder.rglob("*")
        if file.is_file()
    }

    small_shop.load()

    after = {
        file: (file.read_bytes(), file.stat().st_mtime_ns)
        for file in small_shop.folder.rglob("*")
        if file.is_file()
    }
    assert before == after


@pytest.mark.parametrize("name", ["nowhere", "empty"])
def test_a_folder_that_is_no_shop_is_one_complaint(tmp_path, name):
    (tmp_path / "empty").mkdir()

    with pytest.raises(ConfigRefused) as refused:
        load_shop(tmp_path / name)

    assert [("config.shop-missing", str(tmp_path / name))] == [
        (finding.code, str(finding.place)) for finding in refused.value.findings
    ]


@pytest.mark.parametrize(
    "file", ["shop.yaml", "substrates.yaml", "print-modes.yaml", "presses.yaml", "stock.yaml"]
)
def test_every_file_must_be_there(small_shop, file):
    (small_shop.folder / file).unlink()

    found = small_shop.complaints()

    assert [("config.file-missing", file)] == [(finding.code, small_shop.spot(finding)) for finding in found]
    assert f"The file {file} is missing." == sentence(found[0])


def test_a_misspelt_file_name_is_found_and_the_right_one_named(small_shop):
    (small_shop.folder / "stock.yaml").rename(small_shop.folder / "stocks.yaml")

    found = small_shop.complaints()

    assert [(finding.code, small_shop.spot(finding)) for finding in found] == [
        ("config.file-unknown", "stocks.yaml"),
        ("config.file-missing", "stock.yaml"),
    ]
    assert remedy(found[0]) == 'Did you mean "stock.yaml"?'


def test_a_mapping_with_another_ending_is_found(small_shop):
    (small_shop.folder / "mappings/mis.yaml").rename(small_shop.folder / "mappings/mis.yml")

    found = small_shop.complaints()

    assert [(finding.code, small_shop.spot(finding)) for finding in found] == [
        ("config.file-unknown", "mappings/mis.yml"),
        ("config.reference-unknown", "shop.yaml:7:14 sources[mis].mapping"),
    ]


def test_editors_side_files_are_no_complaint(small_shop):
    small_shop.write(".shop.yaml.swp", b"\x00")
    small_shop.write("shop.yaml~", "old")
    small_shop.write("mappings/.mis.yaml", "old")

    assert small_shop.load().warnings == ()


def test_the_refusal_reads_as_text_for_logs(small_shop):
    small_shop.replace("shop.yaml", "sender_id: small-bridge\n", "")

    with pytest.raises(ConfigRefused) as refused:
        small_shop.load()

    assert str(refused.value).startswith(
        f'{small_shop.folder}/shop.yaml:1:1 sender_id: The key "sender_id" is missing here. Add "sender_id:" with'
    )
