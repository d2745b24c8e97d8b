"""An order with several items, one of which cannot be printed: the whole is refused, or the good ones go on."""

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench, counter_line, press_returns
from tests.unit.flow.test_crash_at_every_step import Fuse, accept_all, play
from ticketbridge.demo.orders import ORDERS, DemoOrder
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.waiting import wake
from ticketbridge.jdf.check import check
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

BOARD, TOO_WIDE = ORDERS[6], ORDERS[14]
CORRECTED = replace(TOO_WIDE, panels=None)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    bench.set_shop("    watch:", "    bad_items: take the good\n    watch:")
    return bench


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def take(bench: Bench, bridge: Bridge, **parts: DemoOrder) -> None:
    orders = {name.removeprefix("part_"): order for name, order in parts.items()}
    accept(bridge, [bench.claim(bench.drop_several("HL-9", orders))])


def jobs(bridge: Bridge) -> list[tuple[str, str, State, int]]:
    with bridge.store.transaction() as tx:
        return [(job.queue_entry_id, job.job_part_id, job.state, job.revision) for job in tx.all_jobs()]


def statuses(ticket: Path) -> dict[str | None, str | None]:
    root = etree.parse(ticket).getroot()
    assert check(root, ticket.name) == []
    return {node.get("JobPartID"): node.get("Status") for node in root.iter(jdf("JDF"))}


def test_unless_the_shop_says_otherwise_one_bad_item_refuses_the_order(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "shop")
    bridge = bench.restart()
    take(bench, bridge, part_1=BANNER, part_2=TOO_WIDE)

    assert jobs(bridge) == []
    assert bench.files(bench.source.refused) == ["several.jdf", "several.jdf.findings.txt"]
    assert bench.signals(bridge) == ["Notification route.no-lane 101"]


def test_the_good_items_go_on_and_the_bad_one_is_told_by_its_part(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, part_1=BANNER, part_2=TOO_WIDE, part_3=CANVAS)

    assert [(part, state) for _, part, state, _ in jobs(bridge)] == [
        ("1", State.WAITING),
        ("3", State.WAITING),
    ]
    assert bench.signals(bridge)[:3] == [
        "Notification route.no-lane 101",
        "Notification TicketAccepted",
        "Notification TicketAccepted",
    ]
    with bridge.store.transaction() as tx:
        [told] = [m.body for m in tx.unsent("mis.folder", 0, 9)]
    notes = etree.fromstring(told).iter(jdf("Notification"))
    assert [note.get("JobPartID") for note in notes] == ["2", "1", "3"]


def test_the_ticket_lies_accepted_with_a_note_and_comes_back_with_the_bad_node_aborted(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, part_1=BANNER, part_2=BOARD)

    assert bench.files(bench.source.accepted) == ["several.jdf", "several.jdf.findings.txt"]
    [returned] = bench.source.returned.glob("*.refused.jdf")
    assert statuses(returned) == {None: "Waiting", "1": "Waiting", "2": "Aborted"}
    [note] = etree.parse(returned).iter(jdf("Notification"))
    assert "rigid" in note.findtext(jdf("Comment"), "").lower()


def test_the_ticket_of_a_finished_good_item_still_says_that_the_bad_one_is_aborted(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, part_1=BANNER, part_2=BOARD)
    [written] = bench.lane("HL-P1-A").tickets.glob("Q*.jdf")
    bench.press_says(bridge, "HL-P1-A", "P1.jdf", press_returns(written.read_bytes()))

    returned = statuses(bench.source.returned / "Q000001.jdf")
    assert (returned["1"], returned["2"]) == ("Completed", "Aborted")


@pytest.mark.parametrize("alone", [True, False])
def test_the_corrected_item_comes_later_alone_or_with_the_order_and_the_good_one_is_not_made_twice(
    bench: Bench, bridge: Bridge, alone: bool
) -> None:
    take(bench, bridge, part_1=BANNER, part_2=TOO_WIDE)
    others = {} if alone else {"part_1": BANNER}
    take(bench, bridge, **others, part_2=CORRECTED)

    assert [(part, state) for _, part, state, _ in jobs(bridge)] == [
        ("1", State.WAITING),
        ("2", State.WAITING),
    ]
    assert bench.signals(bridge).count("Notification TicketRepeated") == (0 if alone else 1)


def test_the_same_again_makes_nothing_new_and_names_the_bad_item_again(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, part_1=BANNER, part_2=BOARD)
    take(bench, bridge, part_1=BANNER, part_2=BOARD)

    assert [part for _, part, _, _ in jobs(bridge)] == ["1"]
    assert bench.files(bench.source.refused) == ["several.jdf", "several.jdf.findings.txt"]
    assert "Notification TicketRepeated" in bench.signals(bridge)


def test_a_changed_part_replaces_its_own_earlier_revision_and_no_other(bench: Bench, bridge: Bridge) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)  # nothing is handed over
    take(bench, bridge, part_1=BANNER, part_2=CANVAS)
    take(bench, bridge, part_2=replace(CANVAS, quantity=5))

    assert jobs(bridge) == [
        ("Q000001", "1", State.WAITING, 1),
        ("Q000002", "2", State.REMOVED, 1),
        ("Q000003", "2", State.WAITING, 2),
    ]


def test_a_change_of_a_part_at_the_press_is_refused_and_a_new_part_beside_it_is_taken(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, part_1=BANNER)
    take(bench, bridge, part_1=replace(BANNER, quantity=9), part_2=CANVAS)

    assert [(part, revision) for _, part, _, revision in jobs(bridge)] == [("1", 1), ("2", 1)]
    assert "Notification job.at-press 107" in bench.signals(bridge)


def test_an_item_that_lacks_only_its_artwork_is_waited_for_before_the_good_ones_are_taken(
    bench: Bench,
) -> None:
    bench.let_wait(100_000)
    bridge = bench.restart()
    name = bench.drop_several("HL-9", {"1": BANNER, "2": CANVAS, "3": BOARD})
    art = bench.source.drop / "art" / f"{CANVAS.job_id}.pdf"
    data = art.read_bytes()
    art.unlink()
    accept(bridge, [bench.claim(name)])
    assert jobs(bridge) == []
    art.write_bytes(data)
    for _ in range(4):
        accept(bridge, wake(bridge))

    assert [part for _, part, _, _ in jobs(bridge)] == ["1", "2"]


def test_order_lines_of_one_order_are_taken_one_by_one_and_a_line_less_is_a_part_less(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "shop")
    bench.set_shop("    bad_lines:", "    bad_items: take the good\n    bad_lines:")
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)  # nothing is handed over
    good, bad, other = (counter_line("C-1", width_cm=width) for width in ("100", "broad", "80"))
    bench.drop_lines("a.csv", good, bad, other)
    accept(bridge, [bench.claim("a.csv", at="counter")])
    assert [part for _, part, _, _ in jobs(bridge)] == ["1", "3"]
    bench.drop_lines("b.csv", good, other)
    accept(bridge, [bench.claim("b.csv", at="counter")])

    assert [(part, state) for _, part, state, _ in jobs(bridge)] == [
        ("1", State.WAITING),
        ("3", State.REMOVED),
        ("2", State.WAITING),
    ]


STEPS = 44


@pytest.mark.parametrize("steps", [*range(STEPS), 10_000])
def test_after_a_crash_at_any_step_the_good_items_are_jobs_once_and_the_bad_one_came_back_once(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, steps: int
) -> None:
    bench.drop_several("HL-9", {"1": BANNER, "2": BOARD, "3": CANVAS})
    fuse = Fuse(steps)
    play(bench, fuse, monkeypatch, accept_all(bench))
    play(bench, None, monkeypatch, accept_all(bench))

    assert [part for _, part, _, _ in jobs(bench.start())] == ["1", "3"]
    assert bench.files(bench.source.accepted) == ["several.jdf", "several.jdf.findings.txt"]
    [returned] = bench.source.returned.glob("*.refused.jdf")
    assert statuses(returned)["2"] == "Aborted"
    assert len(list(bench.folder.glob("lanes/*/in/Q*.jdf"))) == 2
    assert fuse.touched <= STEPS or fuse.left < 0, "the fuse does not reach to the end any more"
