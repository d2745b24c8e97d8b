"""Noticing files, by events and by looking."""

import os
import shutil
import time
from pathlib import Path

import pytest

from ticketbridge.accept import watch as watching_module
from ticketbridge.accept.settle import Settled, SettleTracker
from ticketbridge.accept.watch import DropWatch
from ticketbridge.spool.durable import PlaceNotReady
from ticketbridge.vocabulary.names import MARKER_NAME


@pytest.fixture
def source(tmp_path: Path) -> Path:
    for name in ("drop", "claimed", "elsewhere"):
        (tmp_path / name).mkdir()
    (tmp_path / "drop" / MARKER_NAME).touch()
    return tmp_path


def watch(source: Path, scan_s: float) -> DropWatch:
    def whole(name: str) -> bool:
        return (source / "drop" / name).read_text().endswith("</a>")

    tracker = SettleTracker(quiet_s=0, patience_s=30, is_whole=whole)
    made = DropWatch(source / "drop", scan_s, tracker, time.monotonic)
    assert made.next_settled() == []
    return made


def test_a_file_moved_in_is_settled_by_its_event(source: Path) -> None:
    watching = watch(source, scan_s=60)
    watching.start_events()
    (source / "elsewhere" / "a.jdf").write_text("<a></a>")
    os.rename(source / "elsewhere" / "a.jdf", source / "drop" / "a.jdf")

    assert watching.next_settled() == [Settled("a.jdf", whole=True)]
    watching.stop()


def test_a_folder_that_was_away_is_watched_again_when_it_is_back(source: Path) -> None:
    watching = watch(source, scan_s=60)
    watching.start_events()
    shutil.rmtree(source / "drop")
    (source / "drop").mkdir()
    watching.start_events()
    (source / "drop" / "a.jdf").write_text("<a></a>")

    assert watching.next_settled() == [Settled("a.jdf", whole=True)]
    watching.stop()


def test_a_claim_holds_no_event_back(source: Path) -> None:
    watching = watch(source, scan_s=60)
    watching.start_events()
    seen = []
    for name in ("a.jdf", "b.jdf", "c.jdf"):
        (source / "drop" / name).write_text("<a></a>")
        seen += watching.next_settled()
        os.rename(source / "drop" / name, source / "claimed" / name)
    watching.stop()

    assert [one.name for one in seen] == ["a.jdf", "b.jdf", "c.jdf"]


def test_a_file_written_in_place_is_settled_when_its_writer_closes_it(source: Path) -> None:
    watching = watch(source, scan_s=60)
    watching.start_events()
    with (source / "drop" / "a.jdf").open("w") as file:
        file.write("<a>")
        file.flush()
        file.write("</a>")

    assert watching.next_settled() == [Settled("a.jdf", whole=True)]
    watching.stop()


def test_without_events_the_timed_look_finds_it(source: Path) -> None:
    watching = watch(source, scan_s=0.01)
    (source / "drop" / "a.jdf").write_text("<a></a>")

    looks = [watching.next_settled() for _ in range(3)]

    assert [Settled("a.jdf", whole=True)] in looks


def test_a_folder_without_its_marker_is_not_looked_at(source: Path) -> None:
    watching = watch(source, scan_s=0.01)
    (source / "drop" / MARKER_NAME).unlink()
    time.sleep(0.02)

    with pytest.raises(PlaceNotReady):
        watching.next_settled()


def test_names_that_are_nothing_known_are_told(source: Path) -> None:
    watching = watch(source, scan_s=0.01)
    (source / "drop" / "notes.txt").touch()
    (source / "drop" / "folder.jdf").mkdir()
    (source / "drop" / "art.pdf").touch()
    time.sleep(0.02)
    watching.next_settled()

    assert watching.unknown == {"notes.txt", "folder.jdf"}


def test_when_every_event_is_lost_the_timed_look_finds_the_whole_burst(
    source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watching_module._Hints, "_hint", lambda _self, _path: None)
    watching = watch(source, scan_s=0.05)
    watching.start_events()
    names = {f"{number}.jdf" for number in range(2_000)}
    for name in names:
        (source / "drop" / name).write_text("<a></a>")

    found: set[str] = set()
    until_s = time.monotonic() + 30
    while found != names and time.monotonic() < until_s:
        found |= {one.name for one in watching.next_settled()}

    watching.stop()
    assert found == names


def test_a_flood_of_files_is_seen_in_one_look_and_the_first_written_comes_first(source: Path) -> None:
    made = watch(source, scan_s=0)
    for number in range(5000):
        path = source / "drop" / f"{4999 - number:05d}.jdf"
        path.write_text("<a></a>")
        os.utime(path, ns=(number, number))

    made.next_settled()
    names = [settled.name for settled in made.next_settled()]

    assert names == [f"{4999 - number:05d}.jdf" for number in range(5000)]


def test_a_file_that_is_gone_between_two_looks_is_no_error(source: Path) -> None:
    made = watch(source, scan_s=0)
    (source / "drop" / "a.jdf").write_text("<a></a>")
    made.next_settled()
    (source / "drop" / "a.jdf").unlink()

    assert made.next_settled() == []
