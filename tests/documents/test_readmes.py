"""What the READMEs say is so: their commands run, their tables are whole, the demo prints what they show."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.documents.commands import all_commands, named_commands
from ticketbridge.cli import main
from ticketbridge.demo.orders import ORDERS

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
TICKETBRIDGE = re.compile(r"^\.venv/bin/ticketbridge (?P<words>.*)$")


def test_the_two_named_commands_are_one_line_each_and_need_nothing_but_python() -> None:
    commands = named_commands(README)

    assert set(commands) == {"demo", "test"}
    for command in commands.values():
        assert "\n" not in command
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install --quiet ")


def test_the_readme_s_first_steps_work_one_after_the_other(tmp_path: Path) -> None:
    steps = [match["words"].split() for line in all_commands(README) if (match := TICKETBRIDGE.match(line))]

    assert steps == [["init", "my-shop"], ["check", "--shop", "my-shop"]]
    for words in steps:
        done = subprocess.run(
            [sys.executable, "-m", "ticketbridge", *words],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=60,
        )
        assert done.returncode == 0, done.stdout + done.stderr


def test_every_command_of_the_program_is_in_the_readme_and_says_what_it_does() -> None:
    for name, command in main.commands.items():
        assert f"`{name}" in README
        assert command.help


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_command_answers_help(name: str) -> None:
    answer = CliRunner().invoke(main, [name, "--help"])

    assert answer.exit_code == 0
    assert answer.output.startswith("Usage:")
    assert "\\b" not in answer.output, "a mark for the help's layout must not be shown"


def test_the_demo_s_output_in_the_readme_has_a_line_for_every_ticket() -> None:
    shown = README.partition("<!-- demo output -->")[2].partition("<!-- end of demo output -->")[0]

    for order in ORDERS:
        [line] = [line for line in shown.splitlines() if line.endswith(order.story)]
        assert line.startswith(order.file_name)
        assert order.becomes in line
    assert "Verified" in shown


def test_links_between_the_documents_lead_somewhere() -> None:
    documents = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *ROOT.glob("*/README.md")]
    dead = [
        f"{document.name}: {target}"
        for document in documents
        for target in re.findall(r"\]\((?!https?:)([^)#]+)[^)]*\)", document.read_text(encoding="utf-8"))
        if not (document.parent / target).exists()
    ]

    assert dead == []
