"""The administrator's tutorial, done as it is written: its files are written, its commands run, in its order."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
STEPS = re.compile(r"<!-- (?P<what>run|file: (?P<file>\S+)) -->\s*```\w+\n(?P<body>.*?)```", re.DOTALL)
SCRIPT = """#!/bin/sh
exec {python} -m ticketbridge "$@"
"""


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, int, str]]:
    """What every command of the tutorial said, with its exit code."""
    place = tmp_path_factory.mktemp("tutorial")
    program = place / "bin" / "ticketbridge"
    program.parent.mkdir()
    program.write_text(SCRIPT.format(python=sys.executable))
    program.chmod(0o755)
    around = os.environ | {"PATH": f"{program.parent}:{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    told = []
    for step in STEPS.finditer((ROOT / "schemas" / "README.md").read_text(encoding="utf-8")):
        if step["file"]:
            file = place / step["file"]
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(step["body"], encoding="utf-8")
            continue
        for command in step["body"].strip().splitlines():
            done = subprocess.run(
                command, shell=True, cwd=place, env=around, capture_output=True, text=True, timeout=120
            )
            told.append((command, done.returncode, done.stdout + done.stderr))
    return told


def answers(said: list[tuple[str, int, str]], words: str) -> list[tuple[int, str]]:
    return [(code, text) for command, code, text in said if words in command]


def test_every_command_of_the_tutorial_does_what_the_text_says(said: list[tuple[str, int, str]]) -> None:
    assert [text for _, _, text in said if "Traceback" in text] == []
    assert answers(said, "init")[0][0] == 0
    assert answers(said, "check")[0][0] == 0, answers(said, "check")
    assert {code for command, code, _ in said if command.startswith(("mkdir", "cp", "sed"))} == {0}


def test_the_draft_is_written_with_its_questions(said: list[tuple[str, int, str]]) -> None:
    [(code, text)] = answers(said, "mapping draft")

    assert code == 0
    assert re.search(r"mappings/cards\.yaml: 11 rows of fields, \d+ questions", text)


def test_try_shows_values_beside_their_origin_and_the_order_that_lacks_a_row(
    said: list[tuple[str, int, str]],
) -> None:
    [(code, text)] = answers(said, "mapping try")

    assert code == 1
    assert "Order K-100" in text
    assert 'The table stocks (cards-stocks.csv) has no row for "Open mesh"' in text
    assert "2 of 3 orders can be made" in text


def test_coverage_names_the_missing_value_and_then_none(said: list[tuple[str, int, str]]) -> None:
    (before, missing), (after, none) = answers(said, "mapping coverage")

    assert (before, after) == (1, 0)
    assert re.search(r"1 +stocks +Open mesh +monday.csv:5 +Harbour Mesh 270", missing)
    assert "3 can be made" in none


def test_the_case_is_written_and_met(said: list[tuple[str, int, str]]) -> None:
    (_, written), (code, met) = answers(said, "mapping test")

    assert "written  cards.cases/monday.csv.expected.yaml" in written
    assert (code, met.splitlines()[-1]) == (0, "1 as expected, 0 not.")


def test_replay_names_the_one_order_that_would_change(said: list[tuple[str, int, str]]) -> None:
    [(code, text)] = answers(said, "mapping replay")

    assert code == 1
    assert "Order K-100 (monday.csv)\n  items[0].substrate: BAN510  ->  VINYL-WHITE" in text
    assert "2 stay as they are, 1 change" in text
