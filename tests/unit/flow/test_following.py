"""What a press says moves the job, and nothing it says breaks anything."""

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench, press_returns, status_jmf
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"
PART = ("HL-24117", "1.Q000001")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    return bridge


def say(bench: Bench, bridge: Bridge, status: str, amount: int, message_id: str) -> None:
    bench.press_says(bridge, LANE, f"{message_id}.jmf", status_jmf(LANE, PART, status, amount, 3, message_id))


def state(bridge: Bridge) -> State:
    with bridge.store.transaction() as tx:
        return tx.standing("Q000001").state


def give_back(bench: Bench, bridge: Bridge, status: str = "Completed") -> None:
    written = (bench.lane(LANE).tickets / "Q000001.jdf").read_bytes()
    bench.press_says(bridge, LANE, "P1-000001.jdf", press_returns(written, status))


def test_a_job_runs_from_setup_to_the_returned_ticket(bench: Bench, bridge: Bridge) -> None:
    say(bench, bridge, "Setup", 0, "S1")
    say(bench, bridge, "InProgress", 0, "S2")
    say(bench, bridge, "Completed", 3, "S3")
    assert state(bridge) is State.PENDING_RETURN
    give_back(bench, bridge)

    assert state(bridge) is State.COMPLETED
    assert bench.files(bench.source.returned) == ["Q000001.jdf"]
    assert bench.signals(bridge)[2:] == [
        "Status Setup 0/3",
        "QueueStatus Q000001:Running",
        "Status InProgress 0/3",
        "Status Completed 3/3",
        "QueueStatus Q000001:PendingReturn",
        "QueueStatus Q000001:Completed",
        "ReturnQueueEntry",
    ]
    assert bench.files(bench.lane(LANE).followed) == ["P1-000001.jdf", "S1.jmf", "S2.jmf", "S3.jmf"]


def test_the_returned_ticket_is_the_mis_s_own_with_the_press_s_node_in_it(
    bench: Bench, bridge: Bridge
) -> None:
    give_back(bench, bridge)

    root = etree.parse(str(bench.source.returned / "Q000001.jdf")).getroot()
    assert (root.get("JobID"), root.get("Status")) == ("HL-24117", "Completed")
    [node] = root.findall(jdf("JDF"))
    assert (node.get("JobPartID"), node.get("Status")) == ("1.Q000001", "Completed")
    assert [audit.tag for audit in root.find(jdf("AuditPool"))] == [jdf("Created"), jdf("Modified")]


@pytest.mark.parametrize("end", ["Completed", "Aborted"])
def test_a_ticket_that_is_quicker_than_the_last_signal_tells_the_mis_the_end_in_its_place(
    bench: Bench, bridge: Bridge, end: str
) -> None:
    say(bench, bridge, "InProgress", 1, "S1")
    told = len(bench.signals(bridge))
    give_back(bench, bridge, end)
    say(bench, bridge, end, 3, "S2")

    assert bench.signals(bridge)[told:] == [
        f"Status {end} 1/3",
        "QueueStatus Q000001:PendingReturn",
        f"QueueStatus Q000001:{end}",
        "ReturnQueueEntry",
    ]


def test_the_roll_is_charged_once_whatever_comes_first(bench: Bench, bridge: Bridge) -> None:
    with bridge.store.transaction() as tx:
        before = tx.rolls()[LANE].length_left_m
        used_m = tx.standing("Q000001").roll_length_mm / 1000
    say(bench, bridge, "Completed", 3, "S1")
    give_back(bench, bridge)
    say(bench, bridge, "Completed", 3, "S2")

    with bridge.store.transaction() as tx:
        assert tx.rolls()[LANE].length_left_m == pytest.approx(before - used_m)


def test_a_repeated_signal_is_told_to_the_mis_once(bench: Bench, bridge: Bridge) -> None:
    say(bench, bridge, "InProgress", 0, "S1")
    say(bench, bridge, "InProgress", 0, "S1")

    assert bench.signals(bridge).count("Status InProgress 0/3") == 1


def test_a_job_that_goes_backwards_becomes_a_finding(bench: Bench, bridge: Bridge) -> None:
    say(bench, bridge, "Completed", 3, "S1")
    say(bench, bridge, "InProgress", 0, "S2")

    assert state(bridge) is State.PENDING_RETURN
    assert ("press.contradiction", "InProgress") in [
        (event, facts.get("said")) for event, facts in bench.notices
    ]


def test_amounts_that_shrink_become_a_finding_and_the_higher_one_is_kept(
    bench: Bench, bridge: Bridge
) -> None:
    say(bench, bridge, "InProgress", 1, "S1")
    say(bench, bridge, "InProgress", 0, "S2")

    assert "press.amount-shrank" in [event for event, _ in bench.notices]
    with bridge.store.transaction() as tx:
        assert tx.standing("Q000001").amount == 1


@pytest.mark.parametrize("part", ["1.Q000099", "1", "", "1.Q000001.x"])
def test_a_job_that_the_lane_was_never_given_becomes_a_finding(
    bench: Bench, bridge: Bridge, part: str
) -> None:
    bench.press_says(bridge, LANE, "x.jmf", status_jmf(LANE, ("HL-1", part), "InProgress", 0, 1, "S1"))

    assert "press.unknown-job" in [event for event, _ in bench.notices]


@pytest.mark.parametrize("data", [b"", b"<JMF", b"not xml", b"<JDF xmlns='urn:other'/>", b"<!DOCTYPE x><x/>"])
def test_what_cannot_be_read_is_kept_and_told(bench: Bench, bridge: Bridge, data: bytes) -> None:
    bench.press_says(bridge, LANE, "x.jmf", data)

    assert bench.files(bench.lane(LANE).followed) == ["x.jmf"]
    assert [event for event, _ in bench.notices] == ["press.unreadable"]


@pytest.mark.parametrize(
    "start", ["INF", "20262026-01-01T00:00:00Z", "2026-11-25T24:00:00Z", "2026-11-25T08:00:00"]
)
def test_a_job_starts_whatever_the_press_says_of_when(bench: Bench, bridge: Bridge, start: str) -> None:
    signal = status_jmf(LANE, PART, "InProgress", 1, 3, "S1")

    bench.press_says(
        bridge, LANE, "S1.jmf", signal.replace(b"<JobPhase ", f'<JobPhase StartTime="{start}" '.encode())
    )

    assert state(bridge) is State.RUNNING
    with bridge.store.transaction() as tx:
        assert tx.standing("Q000001").started_at.tzinfo is not None


def test_a_job_that_the_press_breaks_off_is_aborted(bench: Bench, bridge: Bridge) -> None:
    say(bench, bridge, "Setup", 0, "S1")
    give_back(bench, bridge, "Aborted")

    assert state(bridge) is State.ABORTED
    root = etree.parse(str(bench.source.returned / "Q000001.jdf")).getroot()
    assert root.get("Status") == "Aborted"


def test_a_finished_job_frees_its_lane_for_the_next(bench: Bench, bridge: Bridge) -> None:
    more = [replace(BANNER, file_name=f"{n}.jdf", job_id=f"HL-{n}") for n in range(4)]
    for order in more:
        accept(bridge, [bench.claim(bench.drop(order))])
    with bridge.store.transaction() as tx:
        waiting = [job.queue_entry_id for job in tx.open_jobs() if job.device_id == LANE and not job.given]
    assert waiting
    assert not release_waiting(bridge)
    give_back(bench, bridge)

    assert release_waiting(bridge)
    assert bench.files(bench.lane(LANE).tickets) == ["Q000001.jdf", f"{waiting[0]}.jdf"]
