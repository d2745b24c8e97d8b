"""The only code that writes, renames and syncs."""

import os
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


@pytest.mark.parametrize("length", [0, 1, durable.LEAST_READ, 3 * durable.LEAST_READ + 5])
@pytest.mark.parametrize("at_once", [1000, 10_000_000], ids=["in small parts", "at once"])
def test_a_file_is_read_whole_however_much_the_disk_gives_at_once(
    tmp_path: Path, length: int, at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = bytes(number % 251 for number in range(length))
    (tmp_path / "a").write_bytes(data)
    real = os.read
    monkeypatch.setattr(os, "read", lambda descriptor, most: real(descriptor, min(most, at_once)))

    assert durable.read(tmp_path / "a", length) == data
    assert durable.read_and_sync(tmp_path / "a", 10_000_000) == data
    assert durable.read(tmp_path / "a", length // 2) == data[: length // 2 + 1]


def test_what_is_written_while_it_is_read_is_read_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a").write_bytes(b"first ")
    real = os.read

    def read_and_write(descriptor: int, most: int) -> bytes:
        part = real(descriptor, most)
        if part == b"first ":
            with (tmp_path / "a").open("ab") as file:
                file.write(b"second")
        return part

    monkeypatch.setattr(os, "read", read_and_write)

    assert durable.read(tmp_path / "a", 1000) == b"first second"


def test_a_small_file_takes_no_room_for_the_largest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"small")
    asked: list[int] = []
    real = os.read

    def read(descriptor: int, most: int) -> bytes:
        asked.append(most)
        return real(descriptor, most)

    monkeypatch.setattr(os, "read", read)

    durable.read(tmp_path / "a", 1_000_000_000)

    assert max(asked) <= durable.LEAST_READ


def test_a_file_is_written_whole_however_little_the_disk_takes_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.write
    monkeypatch.setattr(os, "write", lambda descriptor, data: real(descriptor, data[:3]))

    durable.write_and_sync(tmp_path / "a", b"in many parts")

    assert (tmp_path / "a").read_bytes() == b"in many parts"


def test_a_claimed_name_gives_back_its_parts() -> None:
    assert claim_of(claimed_name("20261125T090000-abc-000001-1", "a~b.jdf")) == (
        "20261125T090000-abc-000001-1",
        "a~b.jdf",
    )
