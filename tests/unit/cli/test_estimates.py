"""``ticketbridge estimates``: what prints took beside what the model had said."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench
from tests.unit.made import NOW
from ticketbridge.cli import main
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.learned import Actual


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def printed(bench: Bench) -> Path:
    """A shop that has printed ten times, a fifth slower than the model says and with a tenth less ink."""
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        for number in range(10):
            name = f"Q1{number:05d}"
            job = replace(tx.job("Q000001"), number=900 + number, queue_entry_id=name, printing=number + 2)
            tx.add_jobs([job])
            said = 100 * (number + 1)
            tx.record_actual(Actual(name, "P1", "banner-6", "BAN510", said, 1.2 * said, 50, 45), NOW)
    bridge.store.close()
    return bench.folder


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["estimates", "--shop", str(folder), *words])


def test_the_table_names_press_mode_and_substrate_with_factor_and_interval(printed: Path) -> None:
    shown = run(printed).stdout

    [row] = [line.split() for line in shown.splitlines() if line.startswith("P1") and "BAN510" in line][:1]
    assert row[:4] == ["P1", "banner-6", "BAN510", "10"]
    factor, low, high = (float(cell) for cell in row[4:])
    assert 1.15 < factor <= 1.2
    assert low < factor < high
    assert "eight of ten prints lie between" in shown


def test_a_program_reads_time_and_ink(printed: Path) -> None:
    told = json.loads(run(printed, "--json").stdout)

    kinds = {tuple(one["kind"]): one for one in told["ink"]["corrections"]}
    assert 0.9 <= kinds["P1",]["factor"] < 0.93
    assert kinds["P1",]["runs"] == 10


@pytest.mark.parametrize("words", [(), ("--ink",)])
def test_the_plot_has_a_mark_for_each_print_and_what_was_learned(
    printed: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    run(printed, "--picture", str(tmp_path / "plot.svg"), *words)

    plot = etree.parse(tmp_path / "plot.svg").getroot()
    assert len(list(plot.iter("{*}path"))) == 11  # ten prints and the legend
    assert any((text.text or "").startswith("P1, banner-6: x ") for text in plot.iter("{*}text"))


def test_where_nothing_was_printed_it_says_that_the_model_is_bare(bench: Bench) -> None:
    bench.restart().store.close()

    assert run(bench.folder).stdout.startswith("No press has returned a ticket with its times yet")
