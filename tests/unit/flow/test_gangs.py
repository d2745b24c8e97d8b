"""Gang runs: jobs of several orders as one ticket, printed as one run, and returned each as its own."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench
from tests.unit.flow.test_following_a_press import Press, follow_all
from ticketbridge.flow.accepting import accept
from ticketbridge.flow.bridge import Bridge
from ticketbridge.jdf.check import check
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"
FIRST = replace(
    BANNER,
    file_name="one.jdf",
    customer="Tidewatch Museum",
    job_id="HL-1",
    width_mm=600,
    height_mm=900,
    quantity=3,
)
SECOND = replace(
    BANNER,
    file_name="two.jdf",
    customer="Copperleaf Bakery",
    job_id="HL-2",
    width_mm=500,
    height_mm=700,
    quantity=4,
)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    return allow_gangs(bench)


def allow_gangs(bench: Bench) -> Bench:
    """Gang runs are allowed, and banner lies on one lane only."""
    bench.set_shop("sources:", "gang: allowed\nsources:")
    banner = "roll: {substrate: BAN510, lot: B510-2211,"
    bench.change("presses.yaml", banner, "roll: {substrate: CANVAS380, lot: C380-7,")
    return bench


def take_two(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(order)) for order in (FIRST, SECOND)])


def written(bench: Bench) -> list[str]:
    return [name for name in bench.files(bench.lane(LANE).tickets) if name.endswith(".jdf")]


def test_two_alike_jobs_go_out_as_one_ticket_that_passes_our_schema(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)

    assert written(bench) == ["G000001.jdf"]
    root = etree.parse(bench.lane(LANE).tickets / "G000001.jdf").getroot()
    assert check(root, "G000001.jdf") == []
    with bridge.store.transaction() as tx:
        one, two = tx.standing("Q000001"), tx.standing("Q000002")
        alone_mm = sum(tx.job(name).estimate.roll_length_mm for name in ("Q000001", "Q000002"))
    assert one.given
    assert two.given
    assert one.roll_length_mm + two.roll_length_mm < alone_mm


def print_log(press: Press) -> Iterator[dict[str, object]]:
    for line in (press.folder / "print-log.jsonl").read_text().splitlines():
        yield json.loads(line)


def test_the_press_prints_it_as_it_was_laid_out_and_each_job_goes_back_once_with_its_own(
    bench: Bench,
) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    with bridge.store.transaction() as tx:
        layouts = tx.gang_members("G000001")
        left_m = tx.rolls()[LANE].length_left_m
        taken_mm = tx.standing("Q000001").roll_length_mm + tx.standing("Q000002").roll_length_mm
    press.work(3000)
    rows = list(print_log(press))
    wanted = sorted(
        (round(one.x_mm, 2), round(one.y_mm, 2), round(one.width_mm, 2), round(one.height_mm, 2), job_id)
        for job_id, layout in zip(("HL-1", "HL-2"), layouts.values(), strict=True)
        for one in layout.placements
    )
    assert wanted == sorted(
        (
            round(float(str(row["x_mm"])), 2),
            round(float(str(row["y_mm"])), 2),
            round(float(str(row["width_mm"])), 2),
            round(float(str(row["height_mm"])), 2),
            Path(urlsplit(str(row["artwork"])).path).stem,
        )
        for row in rows
    )
    follow_all(bench, bridge)

    assert bench.files(bench.source.returned) == ["Q000001.jdf", "Q000002.jdf"]
    with bridge.store.transaction() as tx:
        standings = tx.all_jobs()
        assert tx.rolls()[LANE].length_left_m == pytest.approx(left_m - taken_mm / 1000)
    assert [(job.state, job.amount) for job in standings] == [(State.COMPLETED, 3), (State.COMPLETED, 4)]
    assert bench.signals(bridge).count("ReturnQueueEntry") == 2
    assert bench.notices == []


def test_no_word_of_another_customer_goes_back(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    press.work(3000)
    follow_all(bench, bridge)

    for name, mine, other in (("Q000001", "HL-1", "HL-2"), ("Q000002", "HL-2", "HL-1")):
        path = bench.source.returned / f"{name}.jdf"
        text = path.read_text()
        assert mine in text
        assert other not in text
        assert ("Q000002" if name == "Q000001" else "Q000001") not in text
        assert "G000001" not in text
        root = etree.fromstring(path.read_bytes())
        assert check(root, path.name) == []
        [phase] = [one for one in root.iter(jdf("PhaseTime")) if one.get("Status") == "InProgress"]
        [made] = phase.iter(jdf("ComponentLink"))
        assert made.get("ActualAmount") == ("3" if name == "Q000001" else "4")
