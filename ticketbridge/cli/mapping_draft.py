"""``ticketbridge mapping draft``: print a drafted mapping, or write it into the shop."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

if TYPE_CHECKING:
    from ticketbridge.model.shop import Shop

_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,62}")


def draft_of(folder: Path, shop: "Shop", samples: Sequence[Path], new_id: str | None) -> int:
    """Draft a mapping; the exit code.

    Args:
        folder: The shop's folder.
        shop: The shop.
        samples: Files of one export.
        new_id: The mapping to make in the shop; None prints the draft.
    """
    from ticketbridge.config.files import MAPPINGS_FOLDER
    from ticketbridge.prove.draft.draft import draft
    from ticketbridge.prove.draft.survey import NothingFound
    from ticketbridge.prove.trial import content
    from ticketbridge.spool import durable

    target = folder / MAPPINGS_FOLDER / f"{new_id}.yaml"
    if new_id is not None and not _ID.fullmatch(new_id):
        click.echo(f"{new_id} cannot be an id: letters, digits, dots, underscores and hyphens.", err=True)
        return 2
    if new_id is not None and target.exists():
        click.echo(
            f"{target} is there already. Give the draft another name, or take that file away.", err=True
        )
        return 2
    try:
        text = draft([(file.name, content(file, shop)) for file in samples], shop)
    except NothingFound as nothing:
        click.echo(f"No mapping can be drafted: {nothing}", err=True)
        return 1
    if new_id is None:
        click.echo(text, nl=False)
        return 0
    durable.write_new(target.absolute(), text.encode())
    asked = sum("ask:" in line for line in text.splitlines()) - 1
    rows = sum(line.startswith("    - {") for line in text.splitlines())
    click.echo(
        f"{target}: {rows} rows of fields, {asked} questions. Look through all of it; questions begin with ask."
    )
    return 0
