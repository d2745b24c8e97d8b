"""``ticketbridge explain FILE --picture OUT.svg``."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.cli import main
from ticketbridge.demo.orders import ORDERS


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """The shop as a bridge leaves it: its account of the rolls is filled when one first starts."""
    shop = Bench(tmp_path / "shop")
    shop.restart()
    return shop


def explained(bench: Bench, ticket: Path, picture: Path) -> tuple[int, str]:
    result = CliRunner().invoke(
        main, ["explain", "--shop", str(bench.folder), "--picture", str(picture), str(ticket)]
    )
    return result.exit_code, result.output


def test_the_layout_of_a_ticket_is_drawn_to_the_file(bench: Bench, tmp_path: Path) -> None:
    ticket = bench.source.drop / bench.drop(BANNER)
    exit_code, output = explained(bench, ticket, tmp_path / "roll.svg")
    assert exit_code == 0, output
    picture = etree.parse(tmp_path / "roll.svg").getroot()
    said = [text.text or "" for text in picture.iter("{*}text")]
    assert any(line.startswith(BANNER.job_id) for line in said)
    assert "The ticket for the lane" in output


def test_a_ticket_without_a_layout_leaves_no_picture(bench: Bench, tmp_path: Path) -> None:
    unreadable = next(order for order in ORDERS if order.raw is not None)
    ticket = bench.source.drop / bench.drop(unreadable)
    exit_code, output = explained(bench, ticket, tmp_path / "roll.svg")
    assert exit_code == 1
    assert "There is no layout to draw." in output
    assert not (tmp_path / "roll.svg").exists()
