"""The option that every command about a shop shares, and how a shop that cannot be loaded is told."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ticketbridge.config.load import LoadedShop

shop_option = click.option(
    "--shop",
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    default=Path(),
    show_default="the folder you stand in",
    help="The shop folder, as made by `ticketbridge init`.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="For a program to read.")


def load_or_exit(folder: Path, trying: Path | None = None) -> "LoadedShop":
    """The shop, with a mapping file to try where one is named; or every complaint on standard error and exit code 1."""
    from ticketbridge.config.load import ConfigRefused, load_shop
    from ticketbridge.model.codes import remedy, sentence

    try:
        return load_shop(folder, trying)
    except ConfigRefused as refusal:
        for finding in refusal.findings:
            click.echo(f"{finding.place}: {sentence(finding)} {remedy(finding)}", err=True)
        click.echo(f"The shop in {folder} has faults; nothing was done.", err=True)
        sys.exit(1)
