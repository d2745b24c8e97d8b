"""Folders, store, archives and backups that do not agree; then as the remedy wants it."""

import shutil
import sqlite3
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.remedies.changes import BANNER
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from ticketbridge.spool.archives import ToArchive, write_archive

Steps = Iterator[None]


@pytest.fixture(autouse=True)
def _look_again_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules["ticketbridge.cli.verify"], "AGAIN_S", 0)


def _accepted(scene: Scene) -> Path:
    """A backup lies beside the shop, and its one ticket became a job."""
    assert scene.order() == "accepted"
    scene.command(f"ticketbridge backup {scene.folder.parent / 'newest.tar.gz'}")
    assert scene.well
    (ticket,) = scene.bench.source.accepted.glob(f"*~{BANNER.file_name}")
    return ticket


def _out_of_the_backup(scene: Scene, name: Path) -> Path:
    """A file out of the newest backup."""
    folder = scene.folder.parent / "restored"
    scene.restore_into(folder, scene.folder.parent / "newest.tar.gz")
    return folder / name.relative_to(scene.folder)


def _change_the_store(scene: Scene, statement: str) -> None:
    scene.stop()
    store = sqlite3.connect(scene.folder / "state/bridge.sqlite")
    store.execute(statement)
    store.commit()
    store.close()


@provokes("keeping.file-gone", "put it back under that name")
def test_a_ticket_that_somebody_moved(scene: Scene) -> Steps:
    ticket = _accepted(scene)
    shutil.move(ticket, scene.folder)
    scene.command("ticketbridge verify")
    yield
    shutil.move(scene.folder / ticket.name, ticket)
    scene.command("ticketbridge verify")


@provokes("keeping.file-changed", "Put the file of the newest backup in its place")
def test_a_ticket_that_somebody_changed(scene: Scene) -> Steps:
    ticket = _accepted(scene)
    ticket.write_bytes(ticket.read_bytes() + b"<!-- seen -->")
    scene.command("ticketbridge verify")
    yield
    shutil.copyfile(_out_of_the_backup(scene, ticket), ticket)
    scene.command("ticketbridge verify")


@provokes("keeping.file-unknown", "drop it again as")
def test_a_ticket_that_somebody_put_among_the_accepted(scene: Scene) -> Steps:
    ticket = _accepted(scene)
    stray = ticket.with_name("20260309T120000-0a0b0c-000009-1~stray.jdf")
    shutil.copyfile(ticket, stray)
    scene.command("ticketbridge verify")
    yield
    assert scene.drop("stray.jdf", stray.read_bytes()) == "repeated"
    stray.unlink()
    scene.command("ticketbridge verify")


@provokes("keeping.history-differs", "restore the newest backup that verifies")
def test_a_state_that_somebody_wrote_into_the_store(scene: Scene) -> Steps:
    _accepted(scene)
    _change_the_store(scene, "UPDATE job SET state = 'Completed'")
    scene.command("ticketbridge verify")
    yield
    scene.restore_into(scene.folder.parent / "restored", scene.folder.parent / "newest.tar.gz")


@provokes("keeping.store-broken", "restore the newest backup that verifies")
def test_a_store_with_a_row_that_hangs_in_the_air(scene: Scene) -> Steps:
    _accepted(scene)
    _change_the_store(scene, "UPDATE job SET claim_id = 'nobody'")
    scene.command("ticketbridge verify")
    yield
    scene.restore_into(scene.folder.parent / "restored", scene.folder.parent / "newest.tar.gz")


@provokes("keeping.archive-broken", "Put an undamaged copy of the archive in its place")
def test_an_archive_that_rots(scene: Scene) -> Steps:
    assert scene.bridge
    archive, _ = write_archive(scene.folder / "archive", "2026-03-tickets", [ToArchive("a", None, b"a" * 99)])
    whole = archive.read_bytes()
    archive.write_bytes(whole[:40] + b"?" + whole[41:])
    scene.command("ticketbridge verify")
    yield
    archive.write_bytes(whole)
    scene.command("ticketbridge verify")


@provokes("backup.no-store", "Start the bridge once")
def test_a_shop_that_never_ran(scene: Scene) -> Steps:
    scene.hear_output(scene.run(f"backup {scene.folder.parent / 'newest.tar.gz'}"))
    yield
    assert scene.bridge
    scene.command(f"ticketbridge backup {scene.folder.parent / 'newest.tar.gz'}")


@provokes("backup.on-a-server", "then copy the shop folder")
def test_a_store_on_a_server(scene: Scene) -> Steps:
    ticket = _accepted(scene)
    scene.edit("shop.yaml", "time_zone:", "store: postgresql://bridge@db.example/harbourlight\ntime_zone:")
    scene.hear_output(scene.run(f"backup {scene.folder.parent / 'another.tar.gz'}"))
    yield
    shutil.copytree(scene.folder, scene.folder.parent / "copied")
    scene.well = (scene.folder.parent / "copied" / ticket.relative_to(scene.folder)).is_file()


@provokes("backup.broken", "restore it into a folder of its own")
def test_a_backup_that_was_cut_off(scene: Scene) -> Steps:
    _accepted(scene)
    backup = scene.folder.parent / "newest.tar.gz"
    (scene.folder.parent / "half.tar.gz").write_bytes(backup.read_bytes()[:-100])
    scene.restore_into(scene.folder.parent / "first", scene.folder.parent / "half.tar.gz")
    yield
    scene.restore_into(scene.folder.parent / "second", backup)


@provokes("backup.folder-taken", "Name a folder that is not there yet")
def test_a_folder_that_holds_a_shop(scene: Scene) -> Steps:
    _accepted(scene)
    scene.restore_into(scene.folder, scene.folder.parent / "newest.tar.gz")
    yield
    scene.restore_into(scene.folder.parent / "another", scene.folder.parent / "newest.tar.gz")
