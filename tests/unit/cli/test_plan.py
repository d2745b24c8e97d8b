"""``ticketbridge plan``: the table, the reasons, the picture, and acceptance by a bridge that answers."""

import json
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from lxml import etree

from tests.unit.flow.bench import Bench, counter_line
from ticketbridge.cli import main
from ticketbridge.daemon.request_box import answer_requests
from ticketbridge.flow.intake.accepting import accept


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A shop with six jobs, three of which wait, and a bridge that answers requests."""
    bench = Bench(tmp_path / "shop")
    bridge, over = bench.restart(), threading.Event()
    for box in (bridge.places.requests, bridge.places.replies):
        box.mkdir()
    stocks = ["Harbour Banner 510", "Harbour Mesh 270", "Harbour Canvas 380"] * 2
    bench.drop_lines("o.csv", *(counter_line(f"C-{n}", pieces="4", stock=s) for n, s in enumerate(stocks)))
    accept(bridge, [bench.claim("o.csv", at="counter")])

    def answer() -> None:
        while not over.wait(0.01):
            answer_requests(bridge)

    thread = threading.Thread(target=answer)
    thread.start()
    yield bench.folder
    over.set()
    thread.join()
    bridge.store.close()


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["plan", "--shop", str(folder), "--steps", "300", *words])


def test_the_plan_stands_beside_the_order_of_arrival_with_its_bound(folder: Path) -> None:
    shown = run(folder).stdout

    assert all(f"Q00000{number}" in shown for number in range(1, 7))
    assert "this plan" in shown
    assert "first come" in shown
    assert "No plan takes less than" in shown
    assert "Late h counts hours late by priority" in shown


def test_a_program_reads_the_plan_with_figures_bound_and_gap(folder: Path) -> None:
    told = json.loads(run(folder, "--json").stdout)

    assert {job["queue_entry_id"] for job in told["jobs"]} == {f"Q00000{number}" for number in range(1, 7)}
    assert told["least_press_hours"] <= told["figures"]["press_hours"] <= told["first_come"]["press_hours"]
    assert told["gap_percent"] >= 0


def test_why_names_the_other_lanes_and_what_they_would_cost_or_forbid(folder: Path) -> None:
    jobs = json.loads(run(folder, "--json").stdout)["jobs"]
    mesh = next(job for job in jobs if "MESH" in job["roll"] and not job["given"])

    shown = run(folder, "--why", mesh["queue_entry_id"]).stdout

    assert f"{mesh['queue_entry_id']} prints on {mesh['device_id']}" in shown
    assert "Why not earlier:" in shown
    assert "HL-P1-B: PVC mesh" in shown  # the underlay does not serve that lane
    asked = json.loads(run(folder, "--json", "--why", mesh["queue_entry_id"]).stdout)
    assert asked["job"]["queue_entry_id"] == mesh["queue_entry_id"]
    assert asked["elsewhere"]


def test_why_of_a_job_at_the_press_and_of_one_that_is_not_there(folder: Path) -> None:
    jobs = json.loads(run(folder, "--json").stdout)["jobs"]
    given = next(job for job in jobs if job["given"])

    assert "what a press has is not moved" in run(folder, "--why", given["queue_entry_id"]).stdout
    missing = run(folder, "--why", "Q000099")
    assert missing.exit_code == 1
    assert "The plan has no job Q000099" in missing.output


def test_the_chart_has_a_row_for_each_lane_and_a_box_for_each_job(folder: Path, tmp_path: Path) -> None:
    run(folder, "--picture", str(tmp_path / "plan.svg"))

    chart = etree.parse(tmp_path / "plan.svg").getroot()
    words = [text.text for text in chart.iter("{*}text")]
    titles = [title.text or "" for title in chart.iter("{*}title")]
    assert {"HL-P1-A", "HL-P1-B", "HL-P2-W"} <= set(words)
    assert sorted(title.split()[0] for title in titles) == [f"Q00000{number}" for number in range(1, 7)]


def test_an_accepted_plan_is_in_force(folder: Path) -> None:
    accepted = run(folder, "accept")

    assert accepted.exit_code == 0, accepted.output
    assert "The plan is in force: " in accepted.stdout


def test_where_nothing_waits_it_says_so(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "shop")
    bench.restart().store.close()

    result = run(bench.folder)

    assert result.exit_code == 0
    assert result.stdout.startswith("No job waits, so there is nothing to plan.")
