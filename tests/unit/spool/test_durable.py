"""The only code that writes, renames and syncs."""

from pathlib import Path

import pytest

from ticketbridge.spool import durable
from ticketbridge.spool.places import claim_of, claimed_name


def test_nothing_is_ever_replaced_by_a_move(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("new")
    (tmp_path / "b").write_text("old")

    with pytest.raises(durable.NameTaken):
        durable.move(tmp_path / "a", tmp_path / "b")

    assert (tmp_path / "b").read_text() == "old"


def test_a_dangling_link_takes_a_name_too(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("new")
    (tmp_path / "b").symlink_to(tmp_path / "nowhere")

    with pytest.raises(durable.NameTaken):
        durable.move(tmp_path / "a", tmp_path / "b")


def test_a_new_file_is_whole_under_its_name_and_leaves_no_temporary(tmp_path: Path) -> None:
    durable.write_new(tmp_path / "a", b"all of it")

    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"all of it")]


def test_reading_never_follows_a_link(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("secret")
    (tmp_path / "link").symlink_to(tmp_path / "secret")

    with pytest.raises(OSError):
        durable.read(tmp_path / "link", 100)


def test_reading_stops_one_byte_after_the_limit(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"x" * 100)

    assert len(durable.read(tmp_path / "a", 10)) == 11


def test_a_claimed_name_gives_back_its_parts() -> None:
    assert claim_of(claimed_name("20261125T090000-abc-000001-1", "a~b.jdf")) == (
        "20261125T090000-abc-000001-1",
        "a~b.jdf",
    )
