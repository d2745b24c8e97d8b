"""``ticketbridge verify``: whether folders, store and archives agree."""

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ticketbridge.cli.shop_option import load_or_exit, shop_option
from ticketbridge.cli.view import viewed

if TYPE_CHECKING:
    from ticketbridge.flow.keep.verifying import Agreement

LOOKS = 3
AGAIN_S = 1.0
"""A bridge that runs needs less to move a file on, so what it is about to do is no disagreement."""


@click.command()
@shop_option
def verify(folder: Path) -> None:
    """Compare every dropped file, job and archive with the store, beside the running bridge. Changes nothing.

    \b
    Each file that became a job, stayed as artwork or was a repeat lies in its place, with the hash it had.
    No other file lies there. The state of each job follows from its history. The store is whole.
    Each archive in the folder archive holds what its manifest says.

    Exit status: 0 all agrees; 1 something does not, one line for each.
    """  # noqa: D301  click wants the very character that \b stands for
    sys.exit(0 if verified(folder) else 1)


def verified(folder: Path) -> bool:
    """Compare, print what does not agree and how much was compared; True where all agrees."""
    from ticketbridge.model.codes import remedy, sentence

    try:
        found = _looked(folder)
    except PermissionError as error:
        click.echo(
            f"{error.filename} may not be read by this account; ask as the account of the bridge.", err=True
        )
        return False
    for finding in found.findings:
        click.echo(f"{sentence(finding)} {remedy(finding)} ({finding.code})")
    compared = f"{_count(found.files, 'file')} and {_count(found.jobs, 'job')} compared with the store"
    if found.archives:
        compared += f", {_count(found.archived_files, 'file')} in {_count(found.archives, 'archive')} read"
    result = f"{_count(len(found.findings), 'disagreement')}" if found.findings else "all agrees"
    click.echo(f"{compared}: {result}.")
    return not found.findings


def _looked(folder: Path) -> "Agreement":
    """What still does not agree when it is looked at again."""
    from ticketbridge.flow.keep.verifying import verify as compare
    from ticketbridge.spool.places import ShopPlaces

    places = ShopPlaces(folder.resolve())
    sources = {source.id: source.folder for source in load_or_exit(folder).shop.settings.sources}
    with viewed(folder) as tx:
        found = compare(places, sources, tx)
    for _ in range(LOOKS - 1):
        if not found.findings:
            break
        time.sleep(AGAIN_S)
        before = found.findings
        with viewed(folder) as tx:
            found = compare(places, sources, tx)
        found.findings = [finding for finding in found.findings if finding in before]
    return found


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
