"""``ticketbridge init``: a new shop folder from the sample."""

from pathlib import Path

import click


@click.command("init")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--exports", is_flag=True, help="Also mappings of six invented exports of MISs, with their cases."
)
def init(folder: Path, *, exports: bool) -> None:
    """Make a new shop in DIR: the sample files, the hot folders, and the settings of two simulated presses.

    DIR must be new or empty. Nothing that is there already is ever changed.
    """
    from ticketbridge.config.folders import make_folders
    from ticketbridge.config.load import load_shop
    from ticketbridge.config.sample import SampleRefused, copy_sample_shop
    from ticketbridge.model.codes import remedy, sentence

    try:
        files = copy_sample_shop(folder, exports=exports)
        loaded = load_shop(folder)
        folders = make_folders(loaded)
    except SampleRefused as refused:
        raise click.ClickException(f"{sentence(refused.finding)} {remedy(refused.finding)}") from refused
    except OSError as problem:
        raise click.ClickException(
            f"{problem.filename or folder} cannot be written: {problem.strerror}. "
            "Choose a folder that this account may write to, or make it writable."
        ) from problem

    click.echo(f"Made a shop in {folder}: {loaded.shop.settings.name}")
    click.echo("\nFiles to read and to change:")
    for file in files:
        if not file.parent.name.endswith(".cases"):
            click.echo(f"  {file.relative_to(folder)}")
    click.echo("\nFolders:")
    for made in folders:
        click.echo(f"  {made.relative_to(loaded.folder)}")
    click.echo("\nNext:")
    click.echo(f"  ticketbridge check --shop {folder}")
    click.echo(f"  ticketbridge run --shop {folder}")
