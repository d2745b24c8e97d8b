"""One file with many orders: each is judged for itself, all in one transaction, and the MIS hears of each."""

from pathlib import Path

import pytest

from tests.unit.flow.bench import Bench, counter_line, press_returns
from ticketbridge.config.load import load_shop
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Request, Wish

ONE, TWO, THREE = (counter_line(f"C-{number}") for number in (1, 2, 3))
BAD = counter_line("C-2", stock="Moonbeam Film 9")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def take(bench: Bench, bridge: Bridge, *lines: str, name: str = "orders.csv") -> None:
    bench.drop_lines(name, *lines)
    accept(bridge, [bench.claim(name, at="counter")])


def jobs(bridge: Bridge) -> list[tuple[str, str, State]]:
    with bridge.store.transaction() as tx:
        return [(job.job_id, job.job_part_id, job.state) for job in tx.all_jobs()]


def take_none(bench: Bench) -> None:
    file = bench.folder / "shop.yaml"
    text = file.read_text()
    assert "bad_lines: take the good" in text
    file.write_text(text.replace("bad_lines: take the good", "bad_lines: take none"))


def test_every_order_of_a_file_becomes_jobs_of_its_own_and_each_is_told(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, ONE, TWO, ONE.replace(";100;", ";90;"))

    assert jobs(bridge) == [
        ("C-1", "1", State.WAITING),
        ("C-1", "2", State.WAITING),
        ("C-2", "1", State.WAITING),
    ]
    assert bench.files(bench.counter.accepted) == ["orders.csv"]
    assert bench.signals(bridge, "counter")[:3] == ["Notification TicketAccepted"] * 3
    assert bench.signals(bridge) == []


def test_the_lane_is_busier_for_the_second_order_of_a_file(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, *(counter_line(f"C-{n}", width_cm="150", pieces="20") for n in range(4)))

    with bridge.store.transaction() as tx:
        assert len({job.device_id for job in tx.all_jobs()}) > 1


def test_the_good_orders_are_taken_and_a_note_beside_the_file_tells_of_the_refused_lines(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, ONE, BAD, THREE)

    assert [job_id for job_id, _, _ in jobs(bridge)] == ["C-1", "C-3"]
    assert bench.files(bench.counter.accepted) == ["orders.csv", "orders.csv.findings.txt"]
    [note] = bench.counter.accepted.glob("*.findings.txt")
    assert note.read_text().startswith("orders.csv was taken in, but not all of it.")
    assert "mapping.substrate-unknown (orders.csv:3" in note.read_text()
    assert bench.signals(bridge, "counter")[:3] == [
        "Notification TicketAccepted",
        "Notification mapping.substrate-unknown 200",
        "Notification TicketAccepted",
    ]


def test_the_corrected_file_is_taken_again_and_nothing_is_made_twice(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, ONE, BAD)
    take(bench, bridge, ONE, TWO)

    assert [job_id for job_id, _, _ in jobs(bridge)] == ["C-1", "C-2"]
    assert bench.files(bench.counter.accepted) == ["orders.csv", "orders.csv", "orders.csv.findings.txt"]


def test_where_a_file_is_taken_whole_or_not_at_all_one_bad_order_refuses_it(bench: Bench) -> None:
    take_none(bench)
    bridge = bench.restart()
    take(bench, bridge, ONE, BAD, THREE)

    assert jobs(bridge) == []
    assert bench.files(bench.counter.refused) == ["orders.csv", "orders.csv.findings.txt"]
    assert bench.signals(bridge, "counter") == [
        "Notification order.others-refused 1",
        "Notification mapping.substrate-unknown 200",
        "Notification order.others-refused 1",
    ]


def test_a_refused_file_can_be_tried_again_after_the_mapping_was_mended(bench: Bench) -> None:
    take_none(bench)
    bridge = bench.restart()
    bridge.reload = lambda: load_shop(bench.folder).shop
    take(bench, bridge, ONE, BAD)
    mapping = bench.folder / "mappings" / "mis.yaml"
    row = "substrates:\n  - {stock_brand: Moonbeam Film 9, substrate: VINYL-WHITE}\n"
    mapping.write_text(mapping.read_text().replace("substrates:\n", row, 1))

    answer(bridge, Request(Wish.RETRY, "op-07"), "r1")

    assert [job_id for job_id, _, _ in jobs(bridge)] == ["C-1", "C-2"]
    assert bench.files(bench.counter.refused) == []


def test_the_refused_orders_of_a_file_that_was_taken_are_tried_again_too(
    bench: Bench, bridge: Bridge
) -> None:
    bridge.reload = lambda: load_shop(bench.folder).shop
    take(bench, bridge, ONE, BAD)
    answer(bridge, Request(Wish.RETRY, "op-07"), "r1")
    assert [job_id for job_id, _, _ in jobs(bridge)] == ["C-1"]
    assert bench.files(bench.counter.accepted) == ["orders.csv"]
    assert bench.files(bench.counter.refused) == ["orders.csv", "orders.csv.findings.txt"]

    mapping = bench.folder / "mappings" / "mis.yaml"
    row = "substrates:\n  - {stock_brand: Moonbeam Film 9, substrate: VINYL-WHITE}\n"
    mapping.write_text(mapping.read_text().replace("substrates:\n", row, 1))
    reply = answer(bridge, Request(Wish.RETRY, "op-07", {"names": ["orders.csv"]}), "r2")

    assert reply.findings[0].facts["after"] == "accepted"
    assert [job_id for job_id, _, _ in jobs(bridge)] == ["C-1", "C-2"]
    assert bench.files(bench.counter.accepted) == ["orders.csv", "orders.csv"]
    assert bench.files(bench.counter.refused) == []


def test_the_same_orders_again_are_repeated_also_among_others(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, ONE, TWO)
    take(bench, bridge, TWO, ONE, name="again.csv")
    take(bench, bridge, TWO, THREE, name="more.csv")

    assert [job_id for job_id, _, _ in jobs(bridge)] == ["C-1", "C-2", "C-3"]
    assert bench.files(bench.counter.repeated) == ["again.csv"]
    assert bench.files(bench.counter.accepted) == ["more.csv", "orders.csv"]


def test_a_changed_line_replaces_what_the_bridge_still_holds_of_that_order_alone(
    bench: Bench, bridge: Bridge
) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    take(bench, bridge, ONE, TWO)
    take(bench, bridge, ONE, TWO.replace(";100;", ";90;"), name="changed.csv")

    assert jobs(bridge) == [
        ("C-1", "1", State.WAITING),
        ("C-2", "1", State.REMOVED),
        ("C-2", "1", State.WAITING),
    ]


def test_two_files_of_one_batch_that_change_the_same_order_are_taken_one_after_the_other(
    bench: Bench, bridge: Bridge
) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    bench.drop_lines("a.csv", ONE, TWO)
    bench.drop_lines("b.csv", THREE, TWO.replace(";100;", ";90;"))

    left = accept(bridge, [bench.claim(name, at="counter") for name in ("a.csv", "b.csv")])
    assert [claimed.original_name for claimed in left] == ["b.csv"]
    assert accept(bridge, left) == []

    assert [(job_id, state) for job_id, _, state in jobs(bridge)] == [
        ("C-1", State.WAITING),
        ("C-2", State.REMOVED),
        ("C-3", State.WAITING),
        ("C-2", State.WAITING),
    ]


def test_a_file_of_which_nothing_can_be_used_is_refused_with_its_line(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, ONE, TWO.replace("Banner;", 'A 5" banner;'))

    assert bench.files(bench.counter.refused) == ["orders.csv", "orders.csv.findings.txt"]
    [note] = bench.counter.refused.glob("*.findings.txt")
    assert "csv.quotes (orders.csv:3)" in note.read_text()
    assert jobs(bridge) == []


def test_a_missing_value_is_named_by_its_line_and_column(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, ONE, counter_line("C-2", width_cm=""))

    [note] = bench.counter.accepted.glob("*.findings.txt")
    assert "mapping.value-missing (orders.csv:3" in note.read_text()
    assert 'Give it in the column "Width cm".' in note.read_text()


def test_an_order_of_a_csv_file_comes_back_as_the_press_s_ticket_under_the_names_of_the_shop(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, ONE)
    [lane] = [bench.lane(d) for d in bridge.lanes if (bench.lane(d).tickets / "Q000001.jdf").exists()]
    written = (lane.tickets / "Q000001.jdf").read_bytes()
    bench.press_says(bridge, lane.folder.name, "P1.jdf", press_returns(written))

    returned = (bench.counter.returned / "Q000001.jdf").read_text()
    assert 'JobID="C-1"' in returned
    assert 'JobPartID="1"' in returned
    assert "Modified" in returned
    assert jobs(bridge) == [("C-1", "1", State.COMPLETED)]
