"""Artwork between acceptance and hand-over: found changed or gone, or copied beside the lane, checked and durable."""

import contextlib
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench, press_returns
from tests.unit.flow.test_crash_at_every_step import Crash, Fuse, fused, lay
from ticketbridge.demo.orders import artwork
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.artwork_at_hand import sweep_copies
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Request, Wish
from ticketbridge.model.share import Share
from ticketbridge.spool import durable
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    """A bridge that hands nothing over, until told."""
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    return bridge


@pytest.fixture
def copying(bench: Bench) -> Iterator[Bridge]:
    """A bridge whose first press prints from copies."""
    copy_artwork(bench)
    bridge = bench.restart()
    yield bridge
    bridge.copying.stop()


def copy_artwork(bench: Bench) -> None:
    bench.change("presses.yaml", "    beam_width_mm:", "    artwork: beside the lane\n    beam_width_mm:")


def art(bench: Bench) -> Path:
    return bench.source.drop / "art" / f"{BANNER.job_id}.pdf"


def take(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])


def release(bridge: Bridge) -> None:
    bridge.unfinished_lanes.clear()
    release_waiting(bridge)


def until(done: Callable[[], bool]) -> None:
    """Wait for the thread that copies."""
    for _ in range(400):
        if done():
            return
        time.sleep(0.01)
    raise AssertionError("it did not come to pass")


def turn_until_given(bridge: Bridge) -> None:
    until(lambda: release_waiting(bridge) or job(bridge).given)


def job(bridge: Bridge) -> Standing:
    with bridge.store.transaction() as tx:
        return tx.standing("Q000001")


def tickets(bench: Bench) -> list[Path]:
    return sorted(bench.lane(LANE).tickets.glob("Q*.jdf"))


def copies(bench: Bench) -> list[Path]:
    return sorted(p for p in bench.lane(LANE).artwork.iterdir() if not p.name.startswith("."))


def opened_by_the_press(ticket: Path) -> Path:
    [file] = etree.parse(ticket).iter(jdf("FileSpec"))
    return Path(unquote(urlsplit(file.get("URL", "")).path))


# Where it lies


def test_artwork_that_is_as_it_was_accepted_is_handed_over(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge)
    release(bridge)
    assert opened_by_the_press(tickets(bench)[0]) == art(bench).resolve()


def test_artwork_that_was_touched_but_says_the_same_is_handed_over(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge)
    os.utime(art(bench), (1, 1))
    release(bridge)
    assert len(tickets(bench)) == 1


def another(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b"0.6 0.1", b"0.1 0.6"))


@pytest.mark.parametrize(
    ("spoil", "words"),
    [(another, "is another file than was accepted"), (Path.unlink, "is no longer at")],
)
def test_artwork_that_changed_or_went_holds_the_job_and_the_mis_hears_what_to_do(
    bench: Bench, bridge: Bridge, spoil: Callable[[Path], Any], words: str
) -> None:
    take(bench, bridge)
    spoil(art(bench))
    release(bridge)

    assert (job(bridge).state, tickets(bench)) == (State.HELD, [])
    assert bench.signals(bridge)[-2:] == ["Notification TicketHeld", "QueueStatus Q000001:Held"]
    with bridge.store.transaction() as tx:
        assert words in tx.history("Q000001")[-1]["facts"]["reason"]


def test_the_accepted_file_put_back_and_the_job_resumed_is_printed(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge)
    accepted = art(bench).read_bytes()
    art(bench).unlink()
    release(bridge)
    art(bench).write_bytes(accepted)
    assert answer(bridge, Request(Wish.RESUME, "op-07", {"queue_entry_id": "Q000001"}), "r1").done
    release(bridge)
    assert len(tickets(bench)) == 1


def test_where_the_whole_folder_is_away_the_job_waits_and_goes_when_it_is_back(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge)
    away = art(bench).parent.rename(bench.folder / "away")
    release(bridge)
    assert (job(bridge).state, job(bridge).given) == (State.WAITING, False)
    away.rename(art(bench).parent)
    release(bridge)
    assert job(bridge).given


# Beside the lane


def test_the_copy_is_there_before_the_ticket_and_the_ticket_names_it(bench: Bench, copying: Bridge) -> None:
    take(bench, copying)
    assert (tickets(bench), job(copying).state) == ([], State.WAITING)
    turn_until_given(copying)

    named = opened_by_the_press(tickets(bench)[0])
    assert [named] == [path.resolve() for path in copies(bench)]
    assert named.read_bytes() == art(bench).read_bytes()


def test_the_press_s_own_way_to_the_folder_stands_in_the_ticket(bench: Bench) -> None:
    copy_artwork(bench)
    bench.change(
        "presses.yaml",
        f"device_id: {LANE}",
        f"device_id: {LANE}\n        artwork_at_press: '\\\\press-1\\jobs'",
    )
    bridge = bench.restart()
    take(bench, bridge)
    turn_until_given(bridge)

    [file] = etree.parse(tickets(bench)[0]).iter(jdf("FileSpec"))
    assert file.get("URL") == f"file://press-1/jobs/{copies(bench)[0].name}"


def test_artwork_that_is_another_when_it_is_copied_holds_the_job_and_leaves_no_copy(
    bench: Bench, copying: Bridge
) -> None:
    take(bench, copying)
    another(art(bench))
    until(lambda: release_waiting(copying) or job(copying).state is State.HELD)
    assert (copies(bench), tickets(bench)) == ([], [])


def test_a_copy_that_is_there_is_used_again_and_goes_with_the_last_job(bench: Bench, copying: Bridge) -> None:
    take(bench, copying)
    turn_until_given(copying)
    first = copies(bench)[0].stat().st_ino
    bench.press_says(copying, LANE, "P1.jdf", press_returns(tickets(bench)[0].read_bytes()))
    again = answer(copying, Request(Wish.PRINT_AGAIN, "op-07", {"queue_entry_id": "Q000001"}), "r1")
    assert again.done
    until(lambda: release_waiting(copying) or len(tickets(bench)) == 2)
    assert [path.stat().st_ino for path in copies(bench)] == [first]
    bench.press_says(copying, LANE, "P2.jdf", press_returns(tickets(bench)[1].read_bytes()))
    release_waiting(copying)
    assert copies(bench) == []


def test_the_copies_of_a_lane_that_another_bridge_serves_by_now_are_its_own(
    bench: Bench, copying: Bridge
) -> None:
    take(bench, copying)
    turn_until_given(copying)
    other = bench.start()
    sweep_copies(other)
    bench.press_says(other, LANE, "P1.jdf", press_returns(tickets(bench)[0].read_bytes()))

    copying.share = Share(frozenset())
    release_waiting(copying)
    assert len(copies(bench)) == 1, "a job that only the other knows may print from it"

    release_waiting(other)
    assert copies(bench) == []


def test_a_start_takes_away_what_no_job_uses_and_half_copies(bench: Bench, copying: Bridge) -> None:
    take(bench, copying)
    turn_until_given(copying)
    used = copies(bench)
    folder = bench.lane(LANE).artwork
    (folder / f"{'ab' * 32}.pdf").write_bytes(b"of a job long gone")
    (folder / f".{'cd' * 32}.pdf.tmp").write_bytes(b"half")
    bench.restart().copying.stop()

    assert sorted(path for path in folder.iterdir() if path.name != ".ticketbridge") == used


def test_a_full_disk_is_not_the_job_s_fault(
    bench: Bench, copying: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(durable, "copy_checked", full)
        take(bench, copying)
        until(lambda: release_waiting(copying) or any(e == "artwork.not-now" for e, _ in bench.notices))
    assert job(copying).state is State.WAITING
    until(lambda: release_waiting(copying) or job(copying).given)  # the bench's clock runs on with each look


@pytest.mark.parametrize("steps", range(34))
def test_after_a_crash_at_any_step_the_press_has_one_ticket_and_its_copy(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, steps: int
) -> None:
    copy_artwork(bench)
    bench.drop(BANNER)
    fuse = Fuse(steps)
    with monkeypatch.context() as patch:
        lay(fuse, patch)
        patch.setattr(durable, "copy_checked", fused(fuse, durable.copy_checked))
        with contextlib.suppress(Crash):
            turn_all(bench, patient=False)
    written = list(bench.folder.glob("lanes/*/in/Q*.jdf"))
    assert all(opened_by_the_press(path).is_file() for path in written), (
        "no press has a ticket before its copy"
    )
    turn_all(bench, patient=True)

    [ticket] = bench.folder.glob("lanes/*/in/Q*.jdf")
    assert opened_by_the_press(ticket).read_bytes() == artwork(BANNER)
    assert len(copies(bench)) == 1
    assert bench.files(bench.source.accepted) == [BANNER.file_name]


def turn_all(bench: Bench, *, patient: bool) -> None:
    bridge = bench.restart()
    try:
        names = [name for name in bench.files(bench.source.drop) if name.endswith(".jdf")]
        accept(bridge, [bench.claim(name) for name in names])
        for _ in range(100 if patient else 10):
            release_waiting(bridge)
            with bridge.store.transaction() as tx:
                if any(one.given for one in tx.all_jobs()):
                    break
            time.sleep(0.01)
    finally:
        bridge.copying.stop()
        bridge.store.close()
