"""A lane's share that is locked, goes away or was never there: nothing is written where nothing should be."""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.mounting import mount, small_disk
from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep.rescue import rescue_lane
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.spool import durable
from ticketbridge.spool.durable import PlaceNotReady, require_ready
from ticketbridge.vocabulary.names import MARKER_NAME

LANE = "HL-P1-A"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def share(bench: Bench) -> Iterator[Path]:
    """The lane's folder, as a share of its own that is mounted over an empty folder."""
    lane = bench.lane(LANE)
    with small_disk(lane.folder, 4):
        for folder in lane.all():
            folder.mkdir()
            (folder / MARKER_NAME).touch()
        yield lane.folder


def codes(bench: Bench) -> list[str]:
    return [event for event, _ in bench.notices]


def test_a_share_that_may_only_be_read_gets_nothing_until_it_may_be_written_again(
    bench: Bench, share: Path
) -> None:
    bridge = bench.restart()
    mount("-o", "remount,ro", str(share))

    accept(bridge, [bench.claim(bench.drop(BANNER))])
    assert bench.files(bench.source.accepted) == [BANNER.file_name]
    assert bench.files(bench.lane(LANE).tickets) == []
    assert "lane.not-ready" in codes(bench)

    mount("-o", "remount,rw", str(share))
    rescue_lane(bridge, LANE)
    release_waiting(bridge)
    assert bench.files(bench.lane(LANE).tickets) == ["Q000001.jdf"]


def test_below_a_mount_point_with_nothing_mounted_nothing_is_written_whatever_lies_there(
    bench: Bench, share: Path
) -> None:
    bridge = bench.restart()
    require_ready(bench.lane(LANE).tickets)
    subprocess.run(["umount", str(share)], check=True)
    assert (bench.lane(LANE).tickets / MARKER_NAME).exists()  # made when nothing was mounted

    accept(bridge, [bench.claim(bench.drop(BANNER))])

    assert [path.name for path in bench.lane(LANE).tickets.iterdir()] == [MARKER_NAME]
    assert "lane.not-ready" in codes(bench)


def test_a_share_that_comes_back_under_another_device_number_is_the_same_share(
    bench: Bench, share: Path
) -> None:
    tickets = bench.lane(LANE).tickets
    require_ready(tickets)
    before = tickets.stat().st_dev
    with small_disk(share, 4):
        for folder in bench.lane(LANE).all():
            folder.mkdir()
            (folder / MARKER_NAME).touch()
        assert tickets.stat().st_dev != before

        require_ready(tickets)


def test_a_folder_that_was_another_file_system_s_is_not_taken_for_it(bench: Bench, share: Path) -> None:
    tickets = bench.lane(LANE).tickets
    require_ready(tickets)
    subprocess.run(["umount", str(share)], check=True)

    with pytest.raises(PlaceNotReady):
        require_ready(tickets)


def test_the_free_room_of_a_disk_is_what_its_owner_may_still_write(bench: Bench, share: Path) -> None:
    assert 3 < durable.free_mb(share) <= 4.2
    (share / "ballast").write_bytes(b"x" * 2_000_000)
    assert durable.free_mb(share) < 2.3
