"""JMF by HTTP where two bridges share a shop: either may be asked, told and given tickets, whoever serves what."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.unit.daemon.http.office import Office, command, jmf, listen, query, serving, submit
from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.daemon.http.desk import FRESH_S
from ticketbridge.model.share import LANE, REQUESTS, SOURCE, Share, lease_name

pytestmark = pytest.mark.store_shared

LANES = ("HL-P1-A", "HL-P1-B", "HL-P2-W")
DESK = Share(frozenset({lease_name(SOURCE, "mis"), REQUESTS}), "desk-1")
PRESS_ROOM = Share(frozenset(lease_name(LANE, lane) for lane in LANES), "room-2")
QUEUE = jmf(query("QueueStatus"))


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    listen(bench.folder)
    return bench


@pytest.fixture
def desk(bench: Bench) -> Iterator[Office]:
    """It serves the source and no lane."""
    with serving(bench, released=True, share=DESK) as office:
        yield office


@pytest.fixture
def room(bench: Bench, desk: Office) -> Iterator[Office]:
    """It serves the lanes and no source."""
    with serving(bench, released=True, share=PRESS_ROOM) as office:
        yield office


def entries(office: Office) -> dict[str, str]:
    """The queue as this one shows it: the state of each entry."""
    found = office.post(QUEUE).root.iter("{*}QueueEntry")
    return {one.get("QueueEntryID"): one.get("Status") for one in found}


def until(true: Callable[[], bool]) -> None:
    until_s = time.monotonic() + 20
    while not true():
        assert time.monotonic() < until_s
        time.sleep(0.05)


def at_lanes(bench: Bench) -> list[str]:
    return [name for lane in LANES for name in bench.files(bench.lane(lane).tickets) if name.endswith(".jdf")]


@pytest.mark.parametrize("asked", ["desk", "room"])
def test_a_ticket_is_taken_by_either_and_handed_over_by_the_one_that_serves_its_lane(
    bench: Bench, desk: Office, room: Office, asked: str
) -> None:
    office = {"desk": desk, "room": room}[asked]

    said = office.submit(BANNER)

    assert said.codes == ["0"]
    name = said.find("QueueEntry").get("QueueEntryID")
    until(lambda: at_lanes(bench) == [f"{name}.jdf"])
    assert len(bench.files(bench.source.accepted)) == 1
    assert bench.files(bench.source.claimed) == []


def test_the_same_ticket_submitted_to_both_is_one_entry_and_each_says_which(
    bench: Bench, desk: Office, room: Office
) -> None:
    names = [office.submit(BANNER).find("QueueEntry").get("QueueEntryID") for office in (room, desk, room)]

    assert len(set(names)) == 1
    until(lambda: at_lanes(bench) == [f"{names[0]}.jdf"])


def test_either_shows_the_whole_queue_also_what_the_other_has_changed_a_moment_ago(
    desk: Office, room: Office
) -> None:
    assert entries(desk) == entries(room) == {}

    names = [
        office.submit(order).find("QueueEntry").get("QueueEntryID")
        for office, order in ((desk, BANNER), (room, CANVAS))
    ]
    time.sleep(FRESH_S)  # so long an answer may be given again

    assert sorted(entries(desk)) == sorted(entries(room)) == sorted(names)
    until(lambda: entries(desk) == entries(room))


def test_an_entry_that_one_took_is_held_resumed_and_removed_by_the_other(
    bench: Bench, desk: Office, room: Office
) -> None:
    assert desk.post(jmf(command("HoldQueue"))).codes == ["0"]
    name = room.submit(BANNER).find("QueueEntry").get("QueueEntryID")
    entry = f'<QueueEntryDef QueueEntryID="{name}"/>'

    assert desk.post(jmf(command("HoldQueueEntry", entry))).codes == ["0"]
    assert room.post(jmf(command("ResumeQueueEntry", entry))).codes == ["0"]
    assert at_lanes(bench) == []
    assert desk.post(jmf(command("RemoveQueueEntry", entry))).codes == ["0"]

    time.sleep(FRESH_S)
    assert "Removed" in entries(room).values() or entries(room) == {}
    assert room.post(jmf(command("ResumeQueue"))).codes == ["0"]
    assert at_lanes(bench) == []


def test_a_queue_that_one_closed_takes_nothing_by_the_other_either(
    bench: Bench, desk: Office, room: Office
) -> None:
    assert desk.post(jmf(command("CloseQueue"))).codes == ["0"]

    assert room.submit(BANNER).codes == ["112"]
    assert room.post(jmf(command("OpenQueue"))).codes == ["0"]
    assert desk.submit(BANNER).codes == ["0"]


def test_a_ticket_is_submitted_anew_at_the_other(desk: Office, room: Office) -> None:
    assert desk.post(jmf(command("HoldQueue"))).codes == ["0"]
    name = desk.submit(BANNER, submit(Hold="true")).find("QueueEntry").get("QueueEntryID")
    anew = command("ResubmitQueueEntry", f'<ResubmissionParams QueueEntryID="{name}" URL="cid:ticket"/>')

    assert room.submit(BANNER, anew).codes == ["0"]

    time.sleep(FRESH_S)
    assert list(entries(desk)) == list(entries(room)) == [name]
