"""Narrow jobs for two lanes: the wait for a partner is told, and what goes together says so to the press."""

import itertools
import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from tests.unit.flow.test_following_a_press import Press
from tests.unit.made import NOW
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.jdf.check import check
from ticketbridge.model.job import WAITS_FOR_PARTNER
from ticketbridge.vocabulary.names import jdf, own

A, B = "HL-P1-A", "HL-P1-B"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    bench.set_shop("sources:", "partner_wait_minutes: 60\nsources:")
    return bench


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def written(bench: Bench, device_id: str) -> list[Path]:
    return sorted(bench.lane(device_id).tickets.glob("Q*.jdf"))


def gang(ticket: Path) -> str | None:
    root = etree.parse(ticket).getroot()
    assert check(root, ticket.name) == []
    [planning] = root.iter(jdf("NodeInfo"))
    return planning.get(own("GangName"))


def history(bridge: Bridge, name: str) -> list[tuple[str, dict[str, object]]]:
    with bridge.store.transaction() as tx:
        return [(event["what"], event["facts"]) for event in tx.history(name)]


def test_a_narrow_job_waits_says_so_once_and_goes_when_its_time_is_up(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    for _ in range(3):
        assert not release_waiting(bridge)

    with bridge.store.transaction() as tx:
        standing = tx.standing("Q000001")
    assert standing.status_details == WAITS_FOR_PARTNER
    [(what, facts)] = history(bridge, "Q000001")[1:]
    assert what == "waits for partner"
    until = standing.submitted_at + timedelta(minutes=60)
    assert facts["until"] == until.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    bench.clock = (NOW + timedelta(hours=2, seconds=n) for n in itertools.count())
    assert release_waiting(bridge)
    assert gang(written(bench, A)[0]) is None


def test_the_partner_comes_and_both_tickets_name_their_gang_and_the_shorter_one_its_blank_roll(
    bench: Bench, bridge: Bridge
) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    release_waiting(bridge)
    accept(bridge, [bench.claim(bench.drop(replace(CANVAS, quantity=1)))])
    release_waiting(bridge)

    names = {gang(path) for device_id in (A, B) for path in written(bench, device_id)}
    assert names == {"G-Q000001"}
    with bridge.store.transaction() as tx:
        longer, shorter = tx.job("Q000001"), tx.job("Q000002")
    released = dict(history(bridge, "Q000002"))["released"]
    blank = longer.layout.length_mm - shorter.layout.length_mm
    assert blank > 0
    assert (released["beside"], released["blank_advance_mm"]) == ("Q000001", pytest.approx(blank))
    assert float(str(released["waste_percent"])) > shorter.estimate.waste_percent
    assert dict(history(bridge, "Q000001"))["released"]["blank_advance_mm"] == 0


def test_the_press_logs_that_the_two_of_a_gang_ran_at_once(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    accept(bridge, [bench.claim(bench.drop(CANVAS))])
    release_waiting(bridge)
    press = Press(bench)
    (press.folder / "control" / B).mkdir(parents=True)
    press.work(60)

    log = (press.folder / "print-log.jsonl").read_text()
    rows = [json.loads(line) for line in log.splitlines()]
    lanes = {row["serial"]: row["device_id"] for row in rows}
    assert {row["gang"] for row in rows} == {"G-Q000001"}
    at_once = [row for row in rows if row["beside"]]
    assert {row["device_id"] for row in at_once} == {A, B}
    assert all(lanes[other] != row["device_id"] for row in at_once for other in row["beside"])
