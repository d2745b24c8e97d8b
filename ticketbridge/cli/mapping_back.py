"""``ticketbridge mapping back``: a version that was live, put back into the mapping's own files."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ticketbridge.spool.kept_mappings import Version


def put_back(folder: Path, mapping_id: str, number: int | None) -> int:
    """Put it back and tell what was done.

    Args:
        folder: The shop folder; its files may have faults, since mending one is what this is for.
        mapping_id: The mapping.
        number: The version; None is the one before what stands in the files now.

    Returns:
        Exit code: 0 where something was put back.
    """
    from ticketbridge.config.files import MAPPINGS_FOLDER
    from ticketbridge.spool import kept_mappings
    from ticketbridge.spool.places import ShopPlaces

    home = ShopPlaces(folder.resolve()).kept_mappings
    known = kept_mappings.versions(home, mapping_id)
    if not known:
        click.echo(f"No version of a mapping {mapping_id} was ever live here.", err=True)
        return 2
    mappings = folder.resolve() / MAPPINGS_FOLDER
    version = _wanted(known, mappings, number)
    if version is None:
        numbers = ", ".join(str(one.number) for one in known)
        click.echo(f"There is no such version; kept are {numbers}.", err=True)
        return 2
    own = [mappings / name for name in version.files() if _is_own(name, mapping_id)]
    now = kept_mappings.content_of([file for file in own if file.exists()])
    kept = kept_mappings.set_aside(home, mapping_id, now)
    written = kept_mappings.put_back(version, own)
    if not written:
        click.echo(f"Version {version.number} of {mapping_id} stands there already; nothing was done.")
        return 0
    click.echo(f"Version {version.number} ({version.sha256}) of {mapping_id} is back:")
    for file in written:
        click.echo(f"  {file.relative_to(folder.resolve())}")
    if kept is not None:
        click.echo(f"What stood there lies in {kept.relative_to(folder.resolve())}.")
    for name in sorted(version.files().keys() - {file.name for file in own}):
        if not (mappings / name).exists() or (mappings / name).read_bytes() != version.files()[name]:
            click.echo(f"It is based on {name}, which is another one now and was left as it is.")
    return 0


def _is_own(name: str, mapping_id: str) -> bool:
    """Its own YAML file and its spreadsheets; the mapping that it is based on is not."""
    return name == f"{mapping_id}.yaml" or not name.endswith(".yaml")


def _wanted(known: "list[Version]", mappings: Path, number: int | None) -> "Version | None":
    """The version asked for; without a number, the last one that is not what stands there now, and came before it."""
    if number is not None:
        return next((version for version in known if version.number == number), None)
    for version in reversed(known):
        content = version.files()
        now = {name: (mappings / name).read_bytes() for name in content if (mappings / name).exists()}
        if now == content:
            earlier = [one for one in known if one.number < version.number]
            return earlier[-1] if earlier else None
    return known[-1]
