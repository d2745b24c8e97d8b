"""What a press returns teaches the estimates: kept once, alone-time, corrected the next time."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench, counter_line
from ticketbridge.decide.route import judge_lanes
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.plan.learning import learn_again
from ticketbridge.jdf.writing import as_bytes, child
from ticketbridge.model.learned import Actual
from ticketbridge.vocabulary.names import jdf


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    return bridge


def comes_back(bench: Bench, bridge: Bridge, device_id: str, factor: float) -> tuple[float, float]:
    """The lane's ticket comes back having taken so many times the estimate. (seconds taken, estimated)."""
    [file] = [path for path in bench.lane(device_id).tickets.iterdir() if path.suffix == ".jdf"]
    root = etree.fromstring(file.read_bytes())
    file.unlink()
    name = root.get("JobPartID").rpartition(".")[2]
    with bridge.store.transaction() as tx:
        estimated_s = tx.job(name).estimate.print_s
    start = datetime.fromisoformat("2026-11-25T10:00:00+00:00")
    end = start + timedelta(seconds=round(factor * estimated_s))
    root.set("Status", "Completed")
    pool = root.find(jdf("AuditPool"))
    audits: dict[str, Any] = {"ID": "P-9", "AgentName": "press", "TimeStamp": end.isoformat()}
    child(pool, "PhaseTime", Status="InProgress", Start=start.isoformat(), End=end.isoformat(), **audits)
    bench.press_says(bridge, device_id, "back.jdf", as_bytes(root))
    return (end - start).total_seconds(), estimated_s


def actuals(bridge: Bridge) -> list[Actual]:
    with bridge.store.transaction() as tx:
        return tx.actuals()


def test_a_returned_ticket_leaves_its_time_beside_what_the_model_had_said(
    bench: Bench, bridge: Bridge
) -> None:
    took_s, estimated_s = comes_back(bench, bridge, "HL-P1-A", 1.3)

    [actual] = actuals(bridge)
    assert (actual.press, actual.print_mode, actual.substrate) == ("P1", "banner-6", "BAN510")
    assert actual.estimated_s == pytest.approx(estimated_s)
    assert actual.actual_s == took_s


def test_the_next_job_of_its_kind_is_estimated_by_it_and_the_model_stays_bare(
    bench: Bench, bridge: Bridge
) -> None:
    comes_back(bench, bridge, "HL-P1-A", 1.3)
    assert learn_again(bridge)
    assert not learn_again(bridge)

    with bridge.store.transaction() as tx:
        job = tx.job("Q000001")
    judged = judge_lanes(
        job.item, job.order, bridge.shop, {}, bridge.now(), None, experience=bridge.experience
    )

    estimate = next(one.estimate for one in judged if one.lane.device_id == "HL-P1-A")
    elsewhere = next(one.estimate for one in judged if one.lane.device_id == "HL-P2-W")
    assert elsewhere.time_factor == 1.0
    assert 1.1 < estimate.time_factor < 1.3
    assert estimate.time_runs == 1
    assert estimate.print_low_s < estimate.print_s < estimate.print_high_s
    assert estimate.print_s == pytest.approx(estimate.steps * estimate.step_s * estimate.time_factor)


def test_a_correction_does_not_feed_itself(bench: Bench, bridge: Bridge) -> None:
    comes_back(bench, bridge, "HL-P1-A", 1.3)
    learn_again(bridge)
    bench.drop_lines("o.csv", counter_line("C-1"))
    accept(bridge, [bench.claim("o.csv", at="counter")])
    with bridge.store.transaction() as tx:
        job = tx.job("Q000002")

    comes_back(bench, bridge, job.device_id, 1.0)

    assert actuals(bridge)[-1].estimated_s == pytest.approx(job.estimate.steps * job.estimate.step_s)


def test_a_ticket_broken_off_teaches_nothing(bench: Bench, bridge: Bridge) -> None:
    [file] = [path for path in bench.lane("HL-P1-A").tickets.iterdir() if path.suffix == ".jdf"]
    root = etree.fromstring(file.read_bytes())
    root.set("Status", "Aborted")

    bench.press_says(bridge, "HL-P1-A", "back.jdf", as_bytes(root))

    assert actuals(bridge) == []


def test_a_press_that_changed_is_told_once(bench: Bench, bridge: Bridge) -> None:
    for number in range(52):
        with bridge.store.transaction() as tx:
            name = f"Q1{number:05d}"
            again = replace(
                tx.job("Q000001"), number=100_000 + number, queue_entry_id=name, printing=number + 2
            )
            took_s = (130 if number < 40 else 160) + number % 5
            tx.add_jobs([again])
            tx.record_actual(Actual(name, "P1", "banner-6", "BAN510", 100, took_s, 1, None), bridge.now())
        bridge.actuals_are_new = True
        if number in (39, 50, 51):
            learn_again(bridge)

    [(_, facts)] = [notice for notice in bench.notices if notice[0] == "estimates.changed"]
    assert facts["press"] == "P1"
    assert 11 <= facts["runs"] <= 13
    assert facts["percent"] == pytest.approx(23, abs=5)


def test_side_by_side_counts_as_if_alone(bench: Bench) -> None:
    """Two lanes at once: the carriage goes further, so an hour together is less than an hour's work alone."""
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER)), bench.claim(bench.drop(CANVAS))])
    with bridge.store.transaction() as tx:
        mine, other = tx.standing("Q000001"), tx.standing("Q000002")
        assert (mine.device_id, other.device_id) == ("HL-P1-A", "HL-P1-B")
        tx.change_job(other, started_at=datetime.fromisoformat("2026-11-25T09:00:00+00:00"))

    took_s, _ = comes_back(bench, bridge, mine.device_id, 1.0)

    [actual] = actuals(bridge)
    assert 0.3 * took_s < actual.actual_s < 0.9 * took_s
