"""The store of a shop, for commands that only look."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ticketbridge.store.transaction import Transaction


@contextmanager
def viewed(folder: Path) -> "Iterator[Transaction]":
    """A look into the store beside a running bridge; exit code 1 where there is none yet."""
    from ticketbridge.config.load import store_of
    from ticketbridge.store.records import WorldFault
    from ticketbridge.store.store import open_view

    address = store_of(folder)
    if isinstance(address, Path) and not address.exists():
        click.echo(
            f"No bridge has run on {folder} yet: start one with `ticketbridge run --shop {folder}`.", err=True
        )
        sys.exit(1)
    try:
        store = open_view(address)
    except WorldFault as error:
        click.echo(f"The store {address} cannot be opened by this account now: {error.orig}.", err=True)
        click.echo("Ask as the account that runs the bridge, or while it runs.", err=True)
        sys.exit(1)
    try:
        with store.transaction() as tx:
            if not tx.has_tables():
                click.echo(f"No bridge has run on {folder} yet: start one.", err=True)
                sys.exit(1)
            yield tx
    finally:
        store.close()
