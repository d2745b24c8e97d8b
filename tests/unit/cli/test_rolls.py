"""``rolls`` by command, with a bridge that answers in a thread."""

import json
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from lxml import etree

from tests.unit.flow.bench import Bench
from ticketbridge.cli.rolls import rolls
from ticketbridge.daemon.request_box import answer_requests


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A shop whose bridge answers requests."""
    bench = Bench(tmp_path / "shop")
    bridge, over = bench.restart(), threading.Event()

    for box in (bridge.places.requests, bridge.places.replies):
        box.mkdir()

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
    return CliRunner().invoke(rolls, ["--shop", str(folder), *words])


def test_the_list_has_every_roll_with_its_place_and_cautions_of_the_heavy_ones(folder: Path) -> None:
    lines = run(folder).stdout.splitlines()

    [loaded] = [line for line in lines if "B510-2207" in line and not line.startswith("Caution")]
    # 1.6 m x 50 m x 510 g/m2 and a core of 1.2 kg; 50 m of 0.5 mm on a core of 90 mm.
    assert loaded.split() == ["BAN510", "B510-2207", "1", "HL-P1-A", "1600", "50.0", "199.8", "42"]
    [caution] = [line for line in lines if line.startswith("Caution: Roll B510-2211")]
    assert "82.8 kg, more than the 25 kg" in caution
    assert "3.6 times what the revised NIOSH lifting equation allows" in caution
    assert "local code and the people trained" in caution


def test_a_roll_goes_through_its_life_by_command(folder: Path) -> None:
    steps = (
        ("receive", "FLAG115", "N-7", "1600", "40"),
        ("splice", "N-7", "--at-m", "12.5"),
        ("flaw", "N-7", "--at-m", "3", "--length-mm", "80", "--what", "crease"),
        ("change", "N-7", "--lane", "HL-P1-A"),
        ("measure", "N-7", "--diameter-mm", "120"),
        ("measure", "N-7", "--diameter-mm", "120", "--take-measured"),
        ("unload", "--lane", "HL-P1-A", "--gone"),
        ("load", "V-5120", "--lane", "HL-P1-A"),
    )
    answers = [run(folder, *step) for step in steps]

    assert [answer.exit_code for answer in answers] == [0] * len(steps)
    assert answers[0].stdout.startswith("Roll 1 of lot N-7, ")
    assert "they differ by" in answers[4].stdout
    known = {(one["lot"], one["place"]) for one in json.loads(run(folder, "--json", "--all").stdout)}
    assert {("N-7", "gone"), ("V-5120", "HL-P1-A"), ("B510-2207", "shelf")} <= known
    assert "N-7" not in {one["lot"] for one in json.loads(run(folder, "--json").stdout)}


def test_a_finding_that_needs_a_decision_says_how_to_decide(folder: Path) -> None:
    answer = run(folder, "measure", "V-5120", "--diameter-mm", "120")

    assert answer.exit_code == 0
    assert "--take-measured" in answer.stdout


def test_what_cannot_be_done_is_said_with_a_remedy_and_exit_code_1(folder: Path) -> None:
    answer = run(folder, "load", "V-5120", "--lane", "HL-P1-A")

    assert answer.exit_code == 1
    assert "ticketbridge rolls change V-5120 --lane HL-P1-A" in answer.stdout


def test_a_label_is_drawn_into_a_file_or_onto_the_screen(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "label.svg"
    answer = run(folder, "label", "B510-2207", "--out", str(out))

    assert (answer.exit_code, answer.stdout) == (0, f"The label of lot B510-2207 is in {out}.\n")
    assert etree.parse(out).getroot().get("width") == "105mm"
    assert run(folder, "label", "B510-2207").stdout == out.read_text()


def test_there_is_no_label_of_a_roll_that_is_not_there(folder: Path) -> None:
    assert run(folder, "label", "X").exit_code == 1
    assert run(folder, "receive", "FLAG115", "L" * 60, "1600", "40").exit_code == 0
    refused = run(folder, "label", "L" * 60)
    assert refused.exit_code == 1
    assert "shorter, plainer lot" in refused.stderr
