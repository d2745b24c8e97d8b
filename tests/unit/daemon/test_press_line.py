"""A ticket by message reaches its press exactly once, whatever becomes of the answer; and commands are passed on."""

from collections import deque
from pathlib import Path

import pytest

from tests.unit.daemon.press_bench import LANE, Entry, JmfBench, temporary_files
from tests.unit.flow.bench import BANNER, status_jmf
from tests.unit.made import NOW
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.jdf.writing import as_bytes, child, jdf_root, moment
from ticketbridge.model.codes import sentence
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Reply, Request, Wish
from ticketbridge.store.records import DeliveryState


@pytest.fixture
def bench(tmp_path: Path) -> JmfBench:
    return JmfBench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: JmfBench) -> Bridge:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    return bridge


def state(bridge: Bridge, name: str = "Q000001") -> tuple[State, bool, DeliveryState | None]:
    with bridge.store.transaction() as tx:
        job, delivery = tx.standing(name), tx.delivery(name)
    return job.state, job.given, delivery and delivery.state


def wish(bridge: Bridge, wish: Wish, name: str = "Q000001", **args: object) -> Reply:
    return answer(bridge, Request(wish, "op-03", {"queue_entry_id": name, **args}), f"r-{wish}")


def test_the_ticket_waits_in_its_lane_until_the_press_has_taken_it(bench: JmfBench, bridge: Bridge) -> None:
    tickets = bench.lane(LANE).tickets
    assert temporary_files(tickets) == [".ticketbridge-Q000001.tmp"]
    assert bench.files(tickets) == []
    bench.talk(bench.line(bridge))

    assert [(one.job_id, one.job_part_id) for one in bench.press.entries] == [("HL-24117", "1.Q000001")]
    assert state(bridge) == (State.WAITING, True, DeliveryState.DELIVERED)
    assert temporary_files(tickets) == []
    with bridge.store.transaction() as tx:
        delivery = tx.delivery("Q000001")
    assert delivery is not None
    assert delivery.press_entry_id == "P-1"
    assert bench.press.asked.count("SubmitQueueEntry") == 1


@pytest.mark.parametrize(
    "troubles",
    [
        ["off"] * 7,
        ["lost"],
        ["cut"],
        ["deaf"],
        ["deaf", "deaf", "off", "deaf"],
        ["lost", "off", "deaf", "cut"],
        ["lost", "112"],
        ["112", "", "112", ""],
        ["10"],
        ["wrong 2"],
        ["wrong 101"],
        ["wrong 112", "off"],
        ["deaf", "", "lost"],
        ["deaf", "", "deaf", "", "lost", "cut"],
        ["116"],
    ],
)
@pytest.mark.parametrize("refuses_doubles", [False, True])
def test_whatever_becomes_of_an_answer_the_press_has_the_ticket_once(
    bench: JmfBench, bridge: Bridge, troubles: list[str], refuses_doubles: bool
) -> None:
    line = bench.line(bridge)
    bench.press.refuses_doubles = refuses_doubles
    bench.press.troubles = deque([""] * 4 + troubles)  # the four subscriptions go well
    bench.talk(line, 600)

    assert [one.job_part_id for one in bench.press.entries] == ["1.Q000001"]
    assert state(bridge) == (State.WAITING, True, DeliveryState.DELIVERED)


@pytest.mark.parametrize("trouble", ["lost", "deaf", "cut"])
@pytest.mark.parametrize("press", ["lists no jobs", "has no QueueStatus"])
def test_where_nobody_can_tell_a_person_is_asked_and_nothing_is_sent_again(
    bench: JmfBench, bridge: Bridge, press: str, trouble: str
) -> None:
    bench.press.lists_jobs = press != "lists no jobs"
    bench.press.tells_queue = press != "has no QueueStatus"
    bench.press.entries.append(Entry("P-0", "printed by hand", ""))
    bench.press.troubles = deque([""] * 4 + [trouble])
    bench.talk(bench.line(bridge), 600)

    assert bench.press.asked.count("SubmitQueueEntry") <= 1
    assert state(bridge) == (State.WAITING, True, DeliveryState.IN_DOUBT)
    assert "Notification PressInDoubt" in bench.signals(bridge)
    assert "press.in-doubt" in bench.history(bridge)


def in_doubt(bench: JmfBench, bridge: Bridge) -> None:
    bench.press.tells_queue = False
    bench.press.troubles = deque([""] * 4 + ["deaf"])
    bench.talk(bench.line(bridge), 60)
    assert state(bridge)[2] is DeliveryState.IN_DOUBT


def test_a_person_says_that_the_press_has_it(bench: JmfBench, bridge: Bridge) -> None:
    in_doubt(bench, bridge)
    assert wish(bridge, Wish.DELIVERED).done
    bench.talk(bench.line(bridge), 60)

    assert state(bridge) == (State.WAITING, True, DeliveryState.DELIVERED)
    assert bench.press.entries == []
    again = wish(bridge, Wish.SEND_AGAIN)
    assert sentence(again.findings[0]) == "There is no doubt about where the ticket of Q000001 is."


def test_a_person_says_that_it_is_to_be_sent_again(bench: JmfBench, bridge: Bridge) -> None:
    in_doubt(bench, bridge)
    assert wish(bridge, Wish.SEND_AGAIN).done
    assert release_waiting(bridge)
    bench.talk(bench.line(bridge), 60)

    assert len(bench.press.entries) == 1
    assert state(bridge) == (State.WAITING, True, DeliveryState.DELIVERED)


def test_a_press_that_refuses_for_good_holds_the_job_and_the_next_one_goes(
    bench: JmfBench, bridge: Bridge
) -> None:
    bench.press.troubles = deque([""] * 4 + ["101"])
    bench.talk(bench.line(bridge), 60)

    assert state(bridge) == (State.HELD, False, None)
    assert bench.signals(bridge)[-2:] == ["Notification PressRefused", "QueueStatus Q000001:Held"]
    assert temporary_files(bench.lane(LANE).tickets) == []
    assert wish(bridge, Wish.RESUME).done
    assert release_waiting(bridge)
    bench.talk(bench.line(bridge), 60)
    assert len(bench.press.entries) == 1


def test_a_press_that_is_off_for_a_night_loses_nothing_and_is_not_hammered(
    bench: JmfBench, bridge: Bridge
) -> None:
    bench.press.troubles = deque(["off"] * 100_000)
    line = bench.line(bridge)
    bench.talk(line, 3_600)
    tried = 100_000 - len(bench.press.troubles)
    bench.press.troubles.clear()
    bench.talk(line, 60)

    assert tried <= 3_600 / 10 + 10
    assert [one.job_part_id for one in bench.press.entries] == ["1.Q000001"]


def test_what_the_press_says_of_the_job_settles_the_doubt(bench: JmfBench, bridge: Bridge) -> None:
    in_doubt(bench, bridge)
    part = ("HL-24117", "1.Q000001")
    bench.press_says(bridge, LANE, "S1.jmf", status_jmf(LANE, part, "InProgress", 1, 3, "S1"))

    assert state(bridge) == (State.RUNNING, True, DeliveryState.DELIVERED)


def test_what_the_press_says_before_its_answer_is_had_settles_the_submission_and_its_copy(
    bench: JmfBench, bridge: Bridge
) -> None:
    line = bench.line(bridge)
    bench.press.troubles = deque([""] * 4 + ["lost"])
    bench.talk(line, 2)
    assert state(bridge)[2] is DeliveryState.SUBMITTING
    part = ("HL-24117", "1.Q000001")
    bench.press.entries[0].status = "Running"
    bench.press_says(bridge, LANE, "S1.jmf", status_jmf(LANE, part, "InProgress", 1, 3, "S1"))
    bench.talk(line, 2)

    assert state(bridge) == (State.RUNNING, True, DeliveryState.DELIVERED)
    assert temporary_files(bench.lane(LANE).tickets) == []
    assert bench.history(bridge)[-1] == "submitted"


def test_a_polled_press_moves_the_job_and_is_not_passed_on_twice(bench: JmfBench, bridge: Bridge) -> None:
    bench.press.signals = False
    line = bench.line(bridge)
    bench.talk(line, 20)
    before = len(bench.signals(bridge))
    bench.press.entries[0].status = "Running"
    bench.talk(line, 60)
    assert state(bridge)[0] is State.RUNNING
    assert bench.signals(bridge)[before:] == ["QueueStatus Q000001:Running"]
    bench.press.entries[0].status = "Completed"
    bench.talk(line, 60)

    assert state(bridge)[0] is State.PENDING_RETURN


def test_a_press_that_goes_backwards_becomes_one_finding(bench: JmfBench, bridge: Bridge) -> None:
    line = bench.line(bridge)
    bench.press.signals = False
    bench.talk(line, 20)
    bench.press.entries[0].status = "Running"
    bench.talk(line, 30)
    bench.press.entries[0].status = "Waiting"
    bench.talk(line, 120)

    assert state(bridge)[0] is State.RUNNING
    assert bench.history(bridge).count("press.contradiction") == 1


def remove_by_the_mis(bench: JmfBench, bridge: Bridge) -> None:
    """The MIS drops a RemoveQueueEntry with the ID M-7."""
    root = jdf_root("JMF", SenderID="mis", TimeStamp=moment(NOW), Version="1.7")
    command = child(root, "Command", ID="M-7", Type="RemoveQueueEntry")
    wanted = child(child(command, "RemoveQueueEntryParams"), "QueueFilter")
    child(wanted, "QueueEntryDef", QueueEntryID="Q000001")
    (bench.source.drop / "remove.jmf").write_bytes(as_bytes(root))
    accept(bridge, [bench.claim("remove.jmf")])


def test_a_command_about_a_job_at_the_press_is_passed_on_and_answered_by_the_press(
    bench: JmfBench, bridge: Bridge
) -> None:
    line = bench.line(bridge)
    bench.talk(line, 5)
    remove_by_the_mis(bench, bridge)
    assert bench.signals(bridge)[-1] == "RemoveQueueEntry CommandDone", "it was passed on"
    bench.press.troubles = deque(["off", "off"])
    bench.talk(line, 60)

    assert bench.press.asked[-1] in ("RemoveQueueEntry", "QueueStatus")
    assert state(bridge)[0] is State.REMOVED
    assert bench.signals(bridge)[-3:] == [
        "QueueStatus Q000001:Removed",
        "Notification CommandDone",
        "RemoveQueueEntry CommandDone",
    ]


def test_a_command_that_the_press_refuses_changes_nothing_and_says_so(
    bench: JmfBench, bridge: Bridge
) -> None:
    line = bench.line(bridge)
    bench.talk(line, 5)
    remove_by_the_mis(bench, bridge)
    bench.press.troubles = deque(["106"])
    bench.talk(line, 5)

    assert state(bridge)[0] is State.WAITING
    assert bench.signals(bridge)[-2:] == ["Notification CommandRefused", "RemoveQueueEntry CommandRefused"]
    assert bench.history(bridge)[-2:] == ["asked the press", "the press answered"]


def test_a_person_asks_by_command_and_reads_the_answer_in_the_history(
    bench: JmfBench, bridge: Bridge
) -> None:
    line = bench.line(bridge)
    bench.talk(line, 5)
    reply = wish(bridge, Wish.HOLD)
    assert sentence(reply.findings[0]).startswith("Q000001 is at HL-P1-A, which is asked to Hold it")
    bench.talk(line, 5)

    assert state(bridge)[0] is State.HELD
    assert bench.history(bridge)[-3:] == ["asked the press", "the press answered", "held"]


def test_a_job_whose_ticket_has_not_left_yet_is_the_bridge_s_own_to_hold(
    bench: JmfBench, bridge: Bridge
) -> None:
    bench.press.troubles = deque(["off"] * 1000)
    bench.talk(bench.line(bridge), 30)
    assert wish(bridge, Wish.HOLD).done

    assert state(bridge) == (State.HELD, False, None)
    bench.press.troubles.clear()
    bench.talk(bench.line(bridge), 30)
    assert bench.press.entries == []
