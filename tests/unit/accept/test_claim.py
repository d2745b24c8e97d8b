"""Taking a file by one rename."""

import errno
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from ticketbridge.accept.claim import Claimer, split_attempts
from ticketbridge.spool.places import SourcePlaces

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@pytest.fixture
def places(tmp_path: Path) -> SourcePlaces:
    places = SourcePlaces(tmp_path)
    for folder in places.all():
        folder.mkdir()
    return places


def test_a_claimed_file_leaves_the_drop_folder_and_keeps_its_name_behind_ours(places: SourcePlaces) -> None:
    (places.drop / "order.jdf").write_text("<a/>")

    claimed = Claimer("mis", places).claim("order.jdf", NOW, whole=True)

    assert claimed is not None
    assert os.listdir(places.drop) == []
    assert claimed.path.read_text() == "<a/>"
    assert claimed.path.name == f"{claimed.claim_id}~order.jdf"


def test_two_files_of_one_name_get_two_names(places: SourcePlaces) -> None:
    claimer, names = Claimer("mis", places), set()
    for _ in range(2):
        (places.drop / "order.jdf").write_text("<a/>")
        claimed = claimer.claim("order.jdf", NOW, whole=True)
        assert claimed is not None
        names.add(claimed.path.name)

    assert len(names) == 2


def test_a_file_that_is_gone_is_no_error(places: SourcePlaces) -> None:
    assert Claimer("mis", places).claim("order.jdf", NOW, whole=True) is None


def test_a_folder_that_cannot_be_asked_is_told_of_and_is_no_missing_file(
    places: SourcePlaces, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stale(_path: Path) -> os.stat_result:
        raise OSError(errno.ESTALE, os.strerror(errno.ESTALE))

    monkeypatch.setattr(Path, "lstat", stale)

    with pytest.raises(OSError, match=os.strerror(errno.ESTALE)):
        Claimer("mis", places).claim("order.jdf", NOW, whole=True)


def test_links_pipes_and_folders_stay_where_they_are(places: SourcePlaces, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("secret")
    (places.drop / "link.jdf").symlink_to(tmp_path / "secret")
    os.mkfifo(places.drop / "pipe.jdf")
    (places.drop / "folder.jdf").mkdir()
    claimer = Claimer("mis", places)

    claims = [claimer.claim(name, NOW, whole=True) for name in ("link.jdf", "pipe.jdf", "folder.jdf")]

    assert claims == [None, None, None]
    assert sorted(os.listdir(places.drop)) == ["folder.jdf", "link.jdf", "pipe.jdf"]


@pytest.mark.parametrize(
    "name",
    [
        "x" * 251 + ".jdf",
        "with space.jdf",
        "line\nbreak.jdf",
        "-rf.jdf",
        "a~b.jdf",
        "\udcff.jdf",
        "ü" * 100 + ".jdf",
    ],
)
def test_any_name_that_a_folder_takes_can_be_claimed(places: SourcePlaces, name: str) -> None:
    (places.drop / name).write_text("<a/>")

    claimed = Claimer("mis", places).claim(name, NOW, whole=True)

    assert claimed is not None
    assert claimed.path.exists()


def test_what_an_earlier_run_claimed_is_found_and_each_attempt_is_counted_in_its_name(
    places: SourcePlaces,
) -> None:
    (places.drop / "order.jdf").write_text("<a/>")
    Claimer("mis", places).claim("order.jdf", NOW, whole=True)

    later = Claimer("mis", places)
    [found] = later.found_claimed()
    counted = later.count_attempt(found)

    assert found.original_name == "order.jdf"
    assert split_attempts(found.claim_id)[1] == 1
    assert split_attempts(counted.claim_id)[1] == 2
    assert [again.claim_id for again in later.found_claimed()] == [counted.claim_id]
