"""A changed mapping goes live between two turns; one with an error does not, and the one before can be put back."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.unit.flow.bench import Bench, counter_line
from ticketbridge.cli import main
from ticketbridge.config.load import load_shop
from ticketbridge.daemon.logs import Notices
from ticketbridge.daemon.mapping_watch import REFUSED, MappingWatch
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.spool import durable, kept_mappings
from ticketbridge.spool.places import ShopPlaces


class Told(Notices):
    """Keeps what is told."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[tuple[str, dict[str, Any]]] = []

    def tell(self, event: str, **facts: Any) -> None:
        self.lines.append((event, facts))

    def failing(self, what: str, **facts: Any) -> None:
        self.lines.append((what, facts))


@dataclass
class Living:
    """A bridge with its watch, as the service builds them."""

    bench: Bench
    bridge: Bridge = field(init=False)
    told: Told = field(default_factory=Told)

    def __post_init__(self) -> None:
        self.bridge = self.bench.restart()
        loaded = load_shop(self.bench.folder)
        self.watch = MappingWatch(loaded, self.bridge, lambda: None, self.told)

    def change(self, old: str, new: str, file: str = "mappings/counter.yaml") -> None:
        path = self.bench.folder / file
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new))
        self.watch.look()
        self.watch.look()

    def take(self, name: str, *lines: str) -> list[tuple[str, float]]:
        """Order lines taken in: every job's order and width."""
        self.bench.drop_lines(name, *lines)
        accept(self.bridge, [self.bench.claim(name, at="counter")])
        with self.bridge.store.transaction() as tx:
            jobs = [tx.job(job.queue_entry_id) for job in tx.all_jobs()]
        return [(job.order.job_id, job.item.finished_width_mm) for job in jobs]

    def mapping_of(self, queue_entry_id: str) -> str:
        with self.bridge.store.transaction() as tx:
            [event] = [event for event in tx.history(queue_entry_id) if event["what"] == "accepted"]
        return str(event["facts"]["mapping"])


@pytest.fixture
def living(tmp_path: Path) -> Living:
    return Living(Bench(tmp_path / "shop"))


def test_a_changed_mapping_counts_from_the_next_ticket_on_and_each_job_names_its_version(
    living: Living,
) -> None:
    assert living.take("a.csv", counter_line("C-1")) == [("C-1", 1000.0)]
    living.change("at: Width cm, unit: cm", "at: Width cm, unit: mm")

    assert living.take("b.csv", counter_line("C-2")) == [("C-1", 1000.0), ("C-2", 100.0)]
    first, second = living.mapping_of("Q000001"), living.mapping_of("Q000002")
    assert (first.split()[:2], second.split()[:2]) == (["counter", "1"], ["counter", "2"])
    assert first.split()[2] != second.split()[2]
    assert living.told.lines == [("mapping.live", {"versions": {"counter": 2}})]


def test_a_file_that_is_still_being_saved_is_not_read(living: Living) -> None:
    file = living.bench.folder / "mappings" / "counter.yaml"
    whole = file.read_text()
    file.write_text(whole[:200])
    living.watch.look()
    file.write_text(whole + "# saved\n")
    living.watch.look()

    assert living.told.lines == []
    living.watch.look()
    assert [event for event, _ in living.told.lines] == ["mapping.live"]


def test_a_mapping_with_an_error_is_refused_with_its_place_and_the_one_before_stays(living: Living) -> None:
    living.change("field: quantity", "field: quantitty")

    [(event, facts)] = living.told.lines
    assert event == REFUSED
    assert "mappings/counter.yaml:" in facts["reason"]
    assert 'It says "quantitty"' in facts["reason"]
    assert living.take("a.csv", counter_line("C-1")) == [("C-1", 1000.0)]
    assert living.mapping_of("Q000001").split()[:2] == ["counter", "1"]


def test_a_second_error_is_told_again_and_the_mended_file_goes_live(living: Living) -> None:
    living.change("field: quantity", "field: quantitty")
    living.change("unit: cm", "unit: yd")
    living.change("field: quantitty", "field: quantity")
    living.change("unit: yd", "unit: mm")

    assert [event for event, _ in living.told.lines] == [REFUSED, REFUSED, REFUSED, "mapping.live"]


def test_a_base_or_a_spreadsheet_that_changes_changes_the_mapping_that_uses_it(living: Living) -> None:
    living.change("priority: 50", "priority: 60", "mappings/mis.yaml")

    assert living.told.lines == [("mapping.live", {"versions": {"counter": 2, "mis": 2}})]
    assert living.bridge.shop.mappings["counter"].priority == 60


def test_a_substrate_that_the_running_bridge_does_not_know_yet_is_refused(living: Living) -> None:
    folder = living.bench.folder
    substrates = folder / "substrates.yaml"
    substrates.write_text(substrates.read_text().replace("id: BLUEBACK115", "id: BLUEBACK120"))
    for file in ("stock.yaml", "presses.yaml"):
        (folder / file).write_text((folder / file).read_text().replace("BLUEBACK115", "BLUEBACK120"))

    living.change("substrate: BLUEBACK115", "substrate: BLUEBACK120", "mappings/mis.yaml")

    [(event, facts)] = living.told.lines
    assert event == REFUSED
    assert "BLUEBACK120, which the bridge learns when it is started again" in facts["reason"]


def test_the_same_content_again_is_the_same_version(living: Living) -> None:
    living.change("at: Pieces", "at: Count")
    living.change("at: Count", "at: Pieces")

    versions = kept_mappings.versions(living.bridge.places.kept_mappings, "counter")
    assert [version.number for version in versions] == [1, 2]
    assert living.told.lines[-1] == ("mapping.live", {"versions": {"counter": 1}})


def back(living: Living, *words: str) -> tuple[int, str]:
    answer = CliRunner().invoke(main, ["mapping", "back", "--shop", str(living.bench.folder), *words])
    living.watch.look()
    living.watch.look()
    return answer.exit_code, answer.output


def test_back_puts_the_version_before_into_the_file_and_the_bridge_takes_it(living: Living) -> None:
    good = (living.bench.folder / "mappings" / "counter.yaml").read_text()
    living.change("at: Width cm, unit: cm", "at: Width cm, unit: mm")

    code, said = back(living, "counter")

    assert (code, said.splitlines()[1:]) == (0, ["  mappings/counter.yaml"])
    assert (living.bench.folder / "mappings" / "counter.yaml").read_text() == good
    assert living.take("a.csv", counter_line("C-1")) == [("C-1", 1000.0)]


def test_back_mends_a_mapping_with_an_error_and_keeps_what_stood_there(living: Living) -> None:
    file = living.bench.folder / "mappings" / "counter.yaml"
    good = file.read_text()
    living.change("field: quantity", "field: quantitty")
    bad = file.read_text()

    code, said = back(living, "counter")

    assert code == 0
    assert file.read_text() == good
    [aside] = ShopPlaces(living.bench.folder).kept_mappings.glob("counter/set-aside-*/counter.yaml")
    assert aside.read_text() == bad
    assert f"What stood there lies in {aside.parent.relative_to(living.bench.folder)}." in said


def test_back_to_a_number_and_back_from_the_first_one(living: Living) -> None:
    living.change("unit: cm", "unit: mm")
    living.change("unit: mm", "unit: in")

    assert "Version 1 " in back(living, "counter", "--to", "1")[1]
    assert back(living, "counter") == (2, "There is no such version; kept are 1, 2, 3.\n")
    assert back(living, "nobody") == (2, "No version of a mapping nobody was ever live here.\n")


def test_of_two_bridges_that_start_at_once_both_keep_the_same_version(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files, move = {"mis.yaml": b"id: mis"}, durable.move
    others: list[kept_mappings.Version] = []

    def the_other_is_quicker(source: Path, target: Path) -> None:
        monkeypatch.undo()
        others.append(kept_mappings.keep(tmp_path, "mis", files))
        move(source, target)

    monkeypatch.setattr(durable, "move", the_other_is_quicker)
    mine = kept_mappings.keep(tmp_path, "mis", files)

    assert others == [mine]
    assert [path.name for path in (tmp_path / "mis").iterdir()] == [mine.folder.name]
