"""A ticket that only plans anew: another due time or priority, held or let go. Nothing is printed twice for it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench, press_returns, status_jmf
from tests.unit.flow.test_crash_at_every_step import Fuse, accept_all, play
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.model.job import HELD_ON_CREATE, WAITS_FOR_ROLL, Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Request, Wish
from ticketbridge.vocabulary.names import jdf

EARLIER = "2031-05-06T07:00:00+00:00"
LANE = "HL-P1-A"
Change = Callable[[bytes], bytes]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


@pytest.fixture
def held_back(bridge: Bridge) -> Bridge:
    """A bridge that hands nothing over."""
    bridge.unfinished_lanes.update(bridge.lanes)
    return bridge


def due(moment: str, priority: str = "60") -> Change:
    def change(data: bytes) -> bytes:
        root = etree.fromstring(data)
        [planning] = root.iter(jdf("NodeInfo"))
        planning.set("LastEnd", moment)
        planning.set("JobPriority", priority)
        return etree.tostring(root)

    return change


def activation(word: str) -> Change:
    return lambda data: data.replace(b'Activation="Active"', f'Activation="{word}"'.encode())


def as_it_is(data: bytes) -> bytes:
    return data


def take(bench: Bench, bridge: Bridge, change: Change = as_it_is) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER, change))])


def jobs(bridge: Bridge) -> list[Standing]:
    with bridge.store.transaction() as tx:
        return tx.all_jobs()


def test_a_ticket_with_only_another_due_time_moves_the_job_and_makes_no_other(
    bench: Bench, held_back: Bridge
) -> None:
    take(bench, held_back)
    take(bench, held_back, due(EARLIER, "80"))

    [job] = jobs(held_back)
    assert job.due is not None
    assert (job.due.isoformat(), job.priority, job.revision) == (EARLIER, 80, 1)
    assert bench.signals(held_back)[-2:] == ["Notification TicketPlannedAnew", "QueueStatus Q000001:Waiting"]
    assert bench.files(bench.source.accepted) == [BANNER.file_name] * 2


def test_the_lane_s_ticket_and_the_returned_one_say_the_new_due_time(bench: Bench, bridge: Bridge) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    take(bench, bridge)
    take(bench, bridge, due(EARLIER))
    bridge.unfinished_lanes.clear()
    release_waiting(bridge)
    [written] = bench.lane(LANE).tickets.glob("Q*.jdf")
    bench.press_says(bridge, LANE, "P1.jdf", press_returns(written.read_bytes()))

    assert b'LastEnd="2031-05-06T07:00:00' in written.read_bytes()
    assert b'LastEnd="2031-05-06T07:00:00' in (bench.source.returned / "Q000001.jdf").read_bytes()


def test_back_to_the_first_due_time_is_a_change_too_and_each_ticket_again_is_none(
    bench: Bench, held_back: Bridge
) -> None:
    for change in (as_it_is, due(EARLIER), due(EARLIER), as_it_is, as_it_is):
        take(bench, held_back, change)

    [job] = jobs(held_back)
    assert job.due is not None
    assert job.due.year == 2099
    notes = [word for word in bench.signals(held_back) if word.startswith("Notification")]
    assert notes == [
        "Notification TicketAccepted",
        "Notification TicketPlannedAnew",
        "Notification TicketRepeated",
        "Notification TicketPlannedAnew",
        "Notification TicketRepeated",
    ]


def test_after_a_real_change_the_due_time_of_the_first_content_makes_a_revision(
    bench: Bench, held_back: Bridge
) -> None:
    take(bench, held_back)
    take(bench, held_back, lambda data: data.replace(b'Amount="3"', b'Amount="4"'))
    take(bench, held_back, due(EARLIER))

    assert [(job.state, job.revision) for job in jobs(held_back)] == [
        (State.REMOVED, 1),
        (State.REMOVED, 2),
        (State.WAITING, 3),
    ]


def test_the_due_time_of_what_the_press_has_moves_here_and_nothing_is_handed_over_again(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge)
    bench.press_says(bridge, LANE, "s.jmf", status_jmf(LANE, ("HL", "1.Q000001"), "InProgress", 1, 3, "s1"))
    take(bench, bridge, due(EARLIER))

    [job] = jobs(bridge)
    assert job.due is not None
    assert (job.state, job.due.isoformat()) == (State.RUNNING, EARLIER)
    assert len(list(bench.lane(LANE).tickets.glob("Q*.jdf"))) == 1


def test_a_finished_job_is_not_printed_again_for_another_due_time(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge)
    [written] = bench.lane(LANE).tickets.glob("Q*.jdf")
    bench.press_says(bridge, LANE, "P1.jdf", press_returns(written.read_bytes()))
    take(bench, bridge, due(EARLIER))

    assert [job.state for job in jobs(bridge)] == [State.COMPLETED]
    assert bench.files(bench.source.repeated) == [BANNER.file_name]


def test_a_held_ticket_is_taken_as_held_and_the_same_ticket_active_lets_it_go(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, activation("Held"))
    [job] = jobs(bridge)
    assert (job.state, job.status_details) == (State.HELD, HELD_ON_CREATE)
    assert not release_waiting(bridge)
    assert bench.signals(bridge) == ["Notification TicketAccepted", "QueueStatus Q000001:Held"]

    take(bench, bridge)
    assert release_waiting(bridge)
    assert [(job.state, job.given) for job in jobs(bridge)] == [(State.WAITING, True)]


def test_a_held_job_is_let_go_by_a_person_too(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, activation("Held"))
    assert answer(bridge, Request(Wish.RESUME, "op-07", {"queue_entry_id": "Q000001"}), "r1").done
    assert release_waiting(bridge)


def test_the_same_ticket_held_keeps_back_what_no_press_has_yet(bench: Bench, held_back: Bridge) -> None:
    take(bench, held_back)
    take(bench, held_back, activation("Held"))
    assert [job.state for job in jobs(held_back)] == [State.HELD]


def test_what_a_person_held_is_not_let_go_by_a_ticket(bench: Bench, held_back: Bridge) -> None:
    take(bench, held_back)
    answer(held_back, Request(Wish.HOLD, "op-07", {"queue_entry_id": "Q000001"}), "r1")
    take(bench, held_back)
    assert [job.state for job in jobs(held_back)] == [State.HELD]


def test_held_and_active_in_one_batch_end_as_active(bench: Bench, bridge: Bridge) -> None:
    first = bench.claim(bench.drop(BANNER, activation("Held")))
    left = accept(bridge, [first, bench.claim(bench.drop(BANNER))])
    assert len(left) == 1
    accept(bridge, left)
    assert [job.state for job in jobs(bridge)] == [State.WAITING]


@pytest.mark.parametrize("word", ["Inactive", "Informative", "TestRun"])
def test_what_is_not_to_be_run_now_is_refused_in_a_product_ticket_too(
    bench: Bench, bridge: Bridge, word: str
) -> None:
    take(bench, bridge, activation(word))
    assert jobs(bridge) == []
    assert bench.signals(bridge) == ["Notification ticket.not-active 102"]


def test_a_job_that_lacks_its_roll_is_not_handed_over_after_it_was_held_and_let_go(
    bench: Bench, bridge: Bridge
) -> None:
    with bridge.store.transaction() as tx:
        for one in tx.stock():
            tx.load_roll("away", one.roll, bridge.now())
            tx.take_off("away", bridge.now(), gone=True)
    take(bench, bridge, activation("Held"))
    assert answer(bridge, Request(Wish.RESUME, "op-07", {"queue_entry_id": "Q000001"}), "r1").done

    assert [job.status_details for job in jobs(bridge)] == [WAITS_FOR_ROLL]
    assert not release_waiting(bridge)


@pytest.mark.parametrize("steps", [*range(22), 10_000])
def test_after_a_crash_at_any_step_of_planning_anew_there_is_one_job_due_then(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, steps: int
) -> None:
    bench.drop(BANNER)
    play(bench, None, monkeypatch, accept_all(bench))
    bench.drop(BANNER, due(EARLIER))
    fuse = Fuse(steps)
    play(bench, fuse, monkeypatch, accept_all(bench))
    play(bench, None, monkeypatch, accept_all(bench))

    [job] = jobs(bench.start())
    assert job.due is not None
    assert job.due.isoformat() == EARLIER
    assert bench.files(bench.source.accepted) == [BANNER.file_name] * 2
    assert bench.signals(bench.start()).count("Notification TicketPlannedAnew") == 1
    assert fuse.touched <= 22 or fuse.left < 0, "the fuse does not reach to the end any more"
