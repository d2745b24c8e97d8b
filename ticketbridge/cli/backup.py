"""``ticketbridge backup`` and ``restore``: the whole shop in one file, and back into a folder of its own."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from ticketbridge.cli.shop_option import load_or_exit, shop_option
from ticketbridge.cli.verify import verified

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from ticketbridge.flow.keep.restoring import Restored
    from ticketbridge.model.finding import type_of_fact


@click.command()
@shop_option
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def backup(folder: Path, file: Path) -> None:
    """Copy a whole shop folder with its store into the new FILE, such as shop.tar.gz, beside the running bridge.

    Settings, hot folders, store and archives as they are at one moment. A tar file: any tar program reads it.
    Not in it: folders outside the shop folder, and a store in a PostgreSQL database, which is backed up with
    that server's own tools.
    """
    import sqlite3

    from ticketbridge import __version__
    from ticketbridge.config.load import store_of
    from ticketbridge.daemon import clock
    from ticketbridge.flow.keep.backing_up import back_up
    from ticketbridge.spool.places import ShopPlaces

    places = ShopPlaces(folder.resolve())
    if not isinstance(store_of(folder), Path):
        _refuse("backup.on-a-server", {"folder": str(folder)})
    if not places.database.exists():
        _refuse("backup.no-store", {"folder": str(folder), "database": str(places.database)})
    settings = load_or_exit(folder).shop
    sources = {source.id: source.folder for source in settings.settings.sources}
    lanes = {device_id: lane.folder for device_id, (_, lane) in settings.lanes().items()}
    try:
        done = back_up(places, sources, lanes, file.resolve(), clock.now(), __version__)
    except FileExistsError as error:
        raise click.ClickException(f"{file} is there already; a backup never replaces another.") from error
    except (OSError, sqlite3.Error) as error:
        raise click.ClickException(f"No backup was made: {error}.") from error
    for left_out in done.left_out:
        click.echo(f"Not in it, because it lies outside the shop folder: {left_out}")
    click.echo(f"{file}: {done.files} files, {done.jobs} jobs, {file.stat().st_size / 1e6:.1f} MB.")


@click.command()
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.argument("folder", type=click.Path(path_type=Path))
def restore(file: Path, folder: Path) -> None:
    """Unpack the backup FILE into the new FOLDER, prove it, and say what people must look at before it prints.

    The presses went on after the backup was made. So every lane is held, and each ticket that was at a press which
    had not begun with it is asked about: nothing is printed twice unless a person says so.

    Exit status: 0 restored, and everything in it agrees; 1 it is not.
    """
    from ticketbridge.daemon import clock
    from ticketbridge.flow.keep.restoring import FolderTaken, settle, unpack_shop
    from ticketbridge.spool.backups import BackupBroken

    folder = folder.resolve()
    try:
        manifest = unpack_shop(file, folder)
    except FolderTaken:
        _refuse("backup.folder-taken", {"folder": str(folder)})
    except BackupBroken as error:
        _refuse("backup.broken", {"file": str(file), "said": str(error)})
    except OSError as error:
        raise click.ClickException(f"Not restored: {error}. Take {folder} away and try again.") from error
    lanes = list(load_or_exit(folder).shop.lanes())
    done = settle(folder, Path(manifest.shop_folder), lanes, clock.now())
    click.echo(f"{len(manifest.hashes)} files as they were on {manifest.made_at} now lie in {folder}.")
    well = verified(folder)
    for line in _next_steps(folder, done, lanes):
        click.echo(line)
    sys.exit(0 if well else 1)


def _next_steps(folder: Path, done: "Restored", lanes: list[str]) -> "Iterator[str]":
    jobs, word = f"ticketbridge jobs --shop {folder}", "Where one was printed since"
    yield ""
    yield "Before anything is printed from it: no other bridge may run on the old folder or its presses."
    yield f"1. Start it: ticketbridge run --shop {folder}"
    if done.in_doubt:
        yield f"2. At a press that had not begun: {' '.join(done.in_doubt)}"
        yield f"   {word}: {jobs} cancel ENTRY"
        yield f"   Where one waits in the press's queue: {jobs} delivered ENTRY"
        yield f"   Where it is neither: {jobs} send-again ENTRY"
    if done.waiting:
        yield f"3. Waiting here: {' '.join(done.waiting)}"
        yield f"   {word}: {jobs} cancel ENTRY"
    yield "4. What lies in the drop folders is taken in anew. Look whether it was printed since, too."
    yield f"5. When a lane is right: ticketbridge lanes --shop {folder} resume LANE, for {' '.join(lanes)}"
    yield "6. Measure the rolls: what was printed since is not in their accounts."


def _refuse(code: str, facts: "Mapping[str, type_of_fact]") -> NoReturn:
    from ticketbridge.model.codes import remedy, sentence
    from ticketbridge.model.finding import Finding

    finding = Finding(code, facts=facts)
    click.echo(f"{sentence(finding)} {remedy(finding)} ({code})", err=True)
    sys.exit(1)
