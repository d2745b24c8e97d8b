"""Dropped files become jobs, repeats or refusals, and each lies where the store says."""

from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.demo.orders import ORDERS
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

BOARD, BROKEN = ORDERS[6], ORDERS[8]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def states(bridge: Bridge) -> dict[str, State]:
    with bridge.store.transaction() as tx:
        return {job.queue_entry_id: job.state for job in tx.all_jobs()}


def test_a_good_ticket_becomes_a_job_and_its_lane_has_a_ticket_at_once(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    assert states(bridge) == {"Q000001": State.WAITING}
    assert bench.files(bench.source.accepted) == [BANNER.file_name]
    assert bench.files(bench.source.claimed) == []
    assert bench.files(bench.lane("HL-P1-A").tickets) == ["Q000001.jdf"]
    assert bench.signals(bridge) == ["Notification TicketAccepted", "QueueStatus Q000001:Waiting"]


def test_a_refused_ticket_lies_beside_its_reason_and_the_next_one_is_served(
    bench: Bench, bridge: Bridge
) -> None:
    accept(bridge, [bench.claim(bench.drop(order)) for order in (BOARD, BROKEN, CANVAS)])

    assert bench.files(bench.source.refused) == [
        BOARD.file_name,
        f"{BOARD.file_name}.findings.txt",
        BROKEN.file_name,
        f"{BROKEN.file_name}.findings.txt",
    ]
    assert states(bridge) == {"Q000001": State.WAITING}
    assert bench.signals(bridge) == [
        "Notification route.no-lane 101",
        "Notification xml.not-well-formed 3",
        "Notification TicketAccepted",
        "QueueStatus Q000001:Waiting",
    ]


def test_the_same_content_again_is_one_job_also_in_one_batch_and_with_new_times(
    bench: Bench, bridge: Bridge
) -> None:
    def later(data: bytes) -> bytes:
        assert b"2026-11-20T09:15:00" in data
        return data.replace(b"2026-11-20T09:15:00", b"2026-11-21T10:16:01")

    first = bench.claim(bench.drop(BANNER))
    again = bench.claim(bench.drop(BANNER, later))
    accept(bridge, [first, again])
    accept(bridge, [bench.claim(bench.drop(BANNER, later))])

    assert states(bridge) == {"Q000001": State.WAITING}
    assert bench.files(bench.source.repeated) == [BANNER.file_name, BANNER.file_name]


def test_changed_artwork_is_a_changed_order(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(CANVAS))])
    claimed = bench.claim(bench.drop(CANVAS))
    art = bench.source.drop / "art" / f"{CANVAS.job_id}.pdf"
    art.write_bytes(art.read_bytes() + b"%changed")
    accept(bridge, [claimed])

    assert bench.files(bench.source.repeated) == []


def more_pieces(data: bytes) -> bytes:
    root = etree.fromstring(data)
    for link in root.iter(jdf("ComponentLink")):
        link.set("Amount", "7")
    return etree.tostring(root)


def test_a_change_replaces_what_the_bridge_still_holds(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])  # takes the lane
    second = ORDERS[5]
    accept(bridge, [bench.claim(bench.drop(second))])
    with bridge.store.transaction() as tx:
        held = not tx.standing("Q000002").given or tx.standing("Q000002").device_id != "HL-P1-A"
    assert held
    bridge.unfinished_lanes.update(bridge.lanes)  # nothing is handed over from here on
    third = ORDERS[2]
    accept(bridge, [bench.claim(bench.drop(third))])
    accept(bridge, [bench.claim(bench.drop(third, more_pieces))])

    assert states(bridge)["Q000003"] is State.REMOVED
    assert states(bridge)["Q000004"] is State.WAITING
    with bridge.store.transaction() as tx:
        assert tx.standing("Q000004").revision == 2
        assert tx.job("Q000004").item.quantity == 7


def test_a_change_of_what_the_press_has_is_refused(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    accept(bridge, [bench.claim(bench.drop(BANNER, more_pieces))])

    assert states(bridge) == {"Q000001": State.WAITING}
    assert "Notification job.at-press 107" in bench.signals(bridge)


def test_two_versions_of_one_job_in_one_batch_are_taken_one_after_the_other(
    bench: Bench, bridge: Bridge
) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    batch = [bench.claim(bench.drop(BANNER)), bench.claim(bench.drop(BANNER, more_pieces))]

    later = accept(bridge, batch)
    assert [claimed.claim_id for claimed in later] == [batch[1].claim_id]
    assert accept(bridge, later) == []

    assert states(bridge) == {"Q000001": State.REMOVED, "Q000002": State.WAITING}


def test_going_back_to_the_first_version_is_a_third_revision(bench: Bench, bridge: Bridge) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    for change in (lambda data: data, more_pieces, lambda data: data):
        accept(bridge, [bench.claim(bench.drop(BANNER, change))])

    assert states(bridge) == {"Q000001": State.REMOVED, "Q000002": State.REMOVED, "Q000003": State.WAITING}


def test_a_file_whose_end_never_came_is_refused_as_unfinished(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER, lambda data: data[:300]), whole=False)])

    assert bench.signals(bridge) == ["Notification intake.unfinished 3"]


def test_missing_artwork_refuses_with_the_place_it_was_looked_for(bench: Bench, bridge: Bridge) -> None:
    name = bench.drop(BANNER)
    (bench.source.drop / "art" / f"{BANNER.job_id}.pdf").unlink()
    accept(bridge, [bench.claim(name)])

    [note] = bench.source.refused.glob("*.findings.txt")
    assert str(bench.source.drop / "art") in note.read_text()


def test_a_lane_that_is_not_there_leaves_the_job_waiting_and_is_served_when_it_is_back(
    bench: Bench, bridge: Bridge
) -> None:
    from ticketbridge.flow.keep.rescue import rescue_lane
    from ticketbridge.flow.lane.releasing import release_waiting

    marker = bench.lane("HL-P1-A").tickets / ".ticketbridge"
    marker.unlink()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    release_waiting(bridge)

    assert bench.files(bench.lane("HL-P1-A").tickets) == []
    assert [event for event, _ in bench.notices].count("lane.not-ready") == 1
    marker.touch()
    rescue_lane(bridge, "HL-P1-A")
    release_waiting(bridge)
    assert bench.files(bench.lane("HL-P1-A").tickets) == ["Q000001.jdf"]


def test_artwork_on_the_mis_s_share_is_named_to_the_press_in_the_press_s_own_form(bench: Bench) -> None:
    shop = bench.folder / "shop.yaml"
    row = "artwork_paths: [{mis: '\\\\server\\art', here: artwork, press: 'P:\\'}]\n    watch:"
    shop.write_text(shop.read_text().replace("watch:", row, 1))
    bridge = bench.restart()
    bench.drop(BANNER)
    (bench.folder / "artwork" / "fair.pdf").write_bytes(b"%PDF")

    def on_the_share(data: bytes) -> bytes:
        root = etree.fromstring(data)
        for file in root.iter(jdf("FileSpec")):
            file.set("URL", "file://server/art/fair.pdf")
        return etree.tostring(root)

    accept(bridge, [bench.claim(bench.drop(BANNER, on_the_share))])

    [written] = bench.lane("HL-P1-A").tickets.glob("Q*.jdf")
    assert [file.get("URL") for file in etree.parse(written).iter(jdf("FileSpec"))] == ["file:///P:/fair.pdf"]
