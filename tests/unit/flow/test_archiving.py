"""What is old goes into archives that read back; what is needed stays, whenever a crash comes."""

import json
import os
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.databases import run_sql
from tests.stores import chosen
from tests.unit.flow.bench import BANNER, CANVAS, Bench, press_returns
from ticketbridge.cli import main
from ticketbridge.demo.orders import artwork
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep.archiving import archive_month, forget_received, months_to_archive
from ticketbridge.model.event import BRIDGE
from ticketbridge.model.request import Request, Wish
from ticketbridge.spool import archives, durable
from ticketbridge.spool.archives import prove_archive
from ticketbridge.store.store import open_view

KEPT = "keeping: {tickets_days: 30, artwork_days: 30, press_files_days: 30, returned_days: 30, messages_days: 30}\n"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    bench.set_shop("time_zone:", f"{KEPT}time_zone:")
    return bench


def years_pass(bench: Bench) -> datetime:
    """Every file is as old as the shop's clock says; ten years later."""
    now = next(bench.clock)
    for path in bench.folder.rglob("*"):
        if path.is_file():
            os.utime(path, (now.timestamp(), now.timestamp()))
    return now + timedelta(days=3650)


def put_away(bridge: Bridge, now: datetime) -> list[Path]:
    with bridge.store.transaction() as tx:
        months = months_to_archive(bridge, tx, now)
    return [archive_month(bridge, month, lambda work: work(bridge), lambda: None) for month in months]


def print_everything(bench: Bench, bridge: Bridge) -> None:
    for device_id in bridge.lanes:
        for path in bench.lane(device_id).tickets.glob("*.jdf"):
            data = path.read_bytes()
            path.unlink()
            bench.press_says(bridge, device_id, path.name, press_returns(data))


def one_done_and_one_open(bench: Bench) -> Bridge:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    print_everything(bench, bridge)
    accept(bridge, [bench.claim(bench.drop(CANVAS))])
    bench.source.drop.joinpath("broken.jdf").write_text("<JDF")
    accept(bridge, [bench.claim("broken.jdf")])
    return bridge


def verified(bench: Bench) -> str:
    told = CliRunner().invoke(main, ["verify", "--shop", str(bench.folder)])
    assert told.exit_code == 0, told.output
    return told.output


def inside(bench: Bench) -> set[str]:
    names: set[str] = set()
    for path in (bench.folder / "archive").glob("*.zip"):
        names |= {name.rpartition("~")[2] for name in zipfile.ZipFile(path).namelist()}
    return names


def test_old_files_go_into_archives_and_what_an_open_job_needs_stays(bench: Bench) -> None:
    bridge = one_done_and_one_open(bench)
    later = years_pass(bench)

    made = put_away(bridge, later)

    month = f"{next(bench.clock):%Y-%m}"
    assert [path.name for path in made] == [
        f"{month}-HL-P1-A-press-files.zip",
        f"{month}-mis-returned.zip",
        f"{month}-mis-tickets.zip",
    ]
    assert bench.files(bench.source.accepted) == [CANVAS.file_name]
    assert bench.files(bench.source.refused) == bench.files(bench.source.returned) == []
    assert {BANNER.file_name, "broken.jdf", "broken.jdf.findings.txt"} <= inside(bench)
    assert CANVAS.file_name not in inside(bench)
    assert put_away(bridge, later) == [], "there is nothing left to put away"
    assert "in 3 archives read: all agrees" in verified(bench)
    bridge.store.close()


def test_nothing_goes_before_its_time(bench: Bench) -> None:
    bridge = one_done_and_one_open(bench)
    now = years_pass(bench) - timedelta(days=3650)

    assert put_away(bridge, now + timedelta(days=29)) == []
    assert len(verified(bench)) > 0
    bridge.store.close()


def test_an_archive_unpacked_in_the_shop_folder_puts_everything_back(bench: Bench) -> None:
    bridge = one_done_and_one_open(bench)
    before = {path.name: path.read_bytes() for path in bench.source.accepted.glob("*.jdf")}
    later = years_pass(bench)

    for path in put_away(bridge, later):
        zipfile.ZipFile(path).extractall(bench.folder)

    assert {path.name: path.read_bytes() for path in bench.source.accepted.glob("*.jdf")} == before
    bridge.store.close()


def test_sent_messages_leave_the_store_for_an_archive_and_unsent_ones_stay(bench: Bench) -> None:
    bridge = one_done_and_one_open(bench)
    with bridge.store.transaction() as tx:
        promised, _ = tx.channels()["mis.folder"]
        first, second, *_ = tx.unsent("mis.folder", 0, 100)
        tx.mark_sent("mis.folder", 2)
        tx.bury(second, "nobody took it")
    later = years_pass(bench)

    made = put_away(bridge, later)

    (outbox,) = [path for path in made if "outbox" in path.name]
    archive = zipfile.ZipFile(outbox)
    assert archive.read(f"outbox/mis.folder/00000001-{first.file_name}") == first.body
    with bridge.store.transaction() as tx:
        assert [one.seq for one in tx.unsent("mis.folder", 0, 100)] == list(range(3, promised + 1))
        assert [one.message.seq for one in tx.dead_letters()] == [2]
    bridge.store.close()


def test_a_job_that_is_to_be_printed_again_meanwhile_keeps_its_ticket(bench: Bench) -> None:
    bridge = one_done_and_one_open(bench)
    later = years_pass(bench)
    with bridge.store.transaction() as tx:
        (month,) = [one for one in months_to_archive(bridge, tx, later) if one.name.endswith("mis-tickets")]

    def print_again_first(work: Callable[[Bridge], None]) -> None:
        assert answer(bridge, Request(Wish.PRINT_AGAIN, BRIDGE, {"queue_entry_id": "Q000001"}), "r").done
        work(bridge)

    archive_month(bridge, month, print_again_first, lambda: None)

    assert BANNER.file_name in bench.files(bench.source.accepted)
    assert verified(bench)
    bridge.store.close()


class Crash(Exception):
    """The machine stops here."""


@pytest.mark.parametrize("at", ["write", "move", "commit", "after the commit", "between two files"])
def test_wherever_a_crash_comes_every_file_is_somewhere_and_the_next_look_ends_it(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, at: str
) -> None:
    bridge = one_done_and_one_open(bench)
    taken = {path.name: path.read_bytes() for path in bench.source.accepted.glob("*.jdf")}
    taken |= {path.name: path.read_bytes() for path in bench.source.refused.glob("*.jdf")}
    later = years_pass(bench)
    removed = 0

    def crash(*_: object) -> None:
        raise Crash

    def remove(path: Path, sha256: str) -> bool:
        nonlocal removed
        removed += 1
        if at == "after the commit" or removed == 2:
            raise Crash
        return kept_remove(path, sha256)

    kept_remove = durable.remove_archived
    with bridge.store.transaction() as tx:
        (month,) = [one for one in months_to_archive(bridge, tx, later) if one.name.endswith("mis-tickets")]
    with monkeypatch.context() as broken:
        if at == "write":
            broken.setattr(archives, "_put", crash)
        elif at == "move":
            broken.setattr(durable, "move", crash)
        elif at != "commit":
            broken.setattr(durable, "remove_archived", remove)
        with pytest.raises(Crash):
            archive_month(bridge, month, crash if at == "commit" else lambda work: work(bridge), lambda: None)
    bridge.store.close()
    verified(bench)

    bridge = bench.restart()
    put_away(bridge, later)

    assert put_away(bridge, later) == []
    verified(bench)
    assert bench.files(bench.source.accepted) == [CANVAS.file_name]
    assert bench.files(bench.source.refused) == []
    found = {path.name: path.read_bytes() for path in bench.source.accepted.glob("*.jdf")}
    for path in (bench.folder / "archive").glob("*.zip"):
        assert prove_archive(path) > 0
        archive = zipfile.ZipFile(path)
        found |= {name.rpartition("/")[2]: archive.read(name) for name in archive.namelist()}
    assert {name: found.get(name) for name in taken} == taken
    bridge.store.close()


def test_artwork_stays_while_a_job_is_open_and_goes_after_it(bench: Bench) -> None:
    bridge = bench.restart()
    (bench.pdf_drop.drop / "HL-1_2x_Flag.pdf").write_bytes(artwork(BANNER))
    accept(bridge, [bench.claim("HL-1_2x_Flag.pdf", at="pdf-drop")])
    assert bench.files(bench.pdf_drop.artwork) == ["HL-1_2x_Flag.pdf"]

    assert not [path for path in put_away(bridge, years_pass(bench)) if "artwork" in path.name]
    print_everything(bench, bridge)
    made = put_away(bridge, years_pass(bench))

    assert [path.name for path in made if "artwork" in path.name]
    assert bench.files(bench.pdf_drop.artwork) == []
    verified(bench)
    bridge.store.close()


def test_artwork_of_a_package_goes_by_the_jobs_that_name_it(bench: Bench) -> None:
    bridge = bench.restart()
    package = bench.source.artwork / "package-1"
    package.mkdir()
    (package / "a.pdf").write_bytes(artwork(BANNER))
    accept(bridge, [bench.claim(bench.drop(replace(BANNER)))])
    with bridge.store.transaction() as tx:
        job = tx.job("Q000001")
        order = job.order.model_dump(mode="json")
    order["items"][0]["artwork"]["path"] = str(package / "a.pdf")
    _set_order(bench, order)

    assert not [path for path in put_away(bridge, years_pass(bench)) if "artwork" in path.name]
    print_everything(bench, bridge)

    assert [path for path in put_away(bridge, years_pass(bench)) if "artwork" in path.name]
    assert not (package / "a.pdf").exists()
    bridge.store.close()


def _set_order(bench: Bench, order: object) -> None:
    run_sql(
        chosen().address(bench.folder), "UPDATE job SET job_order = :job_order", job_order=json.dumps(order)
    )


def test_what_was_received_long_ago_is_forgotten_in_groups_and_what_is_young_stays(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ticketbridge.store.keeping._AT_ONCE", 2)
    bridge = bench.restart()
    now = bridge.now()
    with bridge.store.transaction() as tx:
        for number in range(5):
            tx.is_new_message("press", str(number), now)
        tx.is_new_message("press", "young", now + timedelta(days=800))
    view = open_view(bridge.places.database)
    groups: list[int] = []

    def commit(work: Callable[[Bridge], None]) -> None:
        groups.append(1)
        work(bridge)

    assert forget_received(bridge, view, now + timedelta(days=399), commit) == 0
    assert forget_received(bridge, view, now + timedelta(days=900), commit) == 5
    assert len(groups) == 3
    assert forget_received(bridge, view, now + timedelta(days=900), commit) == 0
    with bridge.store.transaction() as tx:
        assert not tx.is_new_message("press", "young", now)
    view.close()


def test_where_the_shop_says_nothing_received_is_forgotten_nothing_is(bench: Bench) -> None:
    bench.set_shop("messages_days: 30", "messages_days: 30, received_days: null")
    bridge = bench.restart()
    with bridge.store.transaction() as tx:
        tx.is_new_message("press", "1", bridge.now())
    view = open_view(bridge.places.database)
    assert (
        forget_received(bridge, view, bridge.now() + timedelta(days=99_999), lambda work: work(bridge)) == 0
    )
    view.close()
