"""The administrator's recipes, followed to the letter in a shop that was just made."""

import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.conftest import ROOT
from ticketbridge.cli import main

PAGE = (ROOT / "schemas" / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    assert CliRunner().invoke(main, ["init", str(folder)]).exit_code == 0
    return folder


def recipe(heading: str) -> str:
    return PAGE.partition(f"### {heading}\n")[2].partition("\n### ")[0]


def blocks(text: str) -> list[str]:
    """The indented blocks of a recipe, without their indent."""
    found = re.findall(r"(?:^(?: {4,}).+\n)+", text, re.MULTILINE)
    return [re.sub(r"^ {4,8}", "", block, flags=re.MULTILINE) for block in found]


def check(shop: Path) -> str:
    return CliRunner().invoke(main, ["check", "--shop", str(shop)]).stdout


def test_a_second_source_has_all_its_folders(shop: Path) -> None:
    settings = shop / "shop.yaml"
    settings.write_text(f"{settings.read_text()}\n  - {{id: web, folder: hotfolders/web, mapping: mis}}\n")
    assert "does not exist" in check(shop)

    [script] = [block for block in blocks(recipe("A second source")) if "mkdir" in block]
    subprocess.run(["sh", "-ec", script], cwd=shop, check=True)

    assert "the folders are ready" in check(shop)


def test_the_people_on_shift_are_such_as_the_shop_takes(shop: Path) -> None:
    [shifts] = blocks(recipe("Who is there"))
    settings = shop / "shop.yaml"
    settings.write_text(f"{settings.read_text()}\n{shifts}")

    assert "the files are right" in check(shop)


def test_the_command_for_what_was_mended_is_one_of_ours() -> None:
    [command] = blocks(recipe("After something was mended"))
    words = command.split()

    assert words[:2] == ["ticketbridge", "jobs"]
    assert CliRunner().invoke(main, [*words[1:2], words[-1], "--help"]).exit_code == 0
