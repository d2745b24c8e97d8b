"""``ticketbridge demo``: the main job, from a hot folder to the press and back, in under two minutes."""

import sys
import tempfile
from pathlib import Path

import click


@click.command()
@click.option(
    "--dir",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Where to play it, and keep it; the same folder again goes on where it was cut off.",
)
def demo(folder: Path | None) -> None:
    """Play the main job in an invented shop, with the real bridge and simulated presses, and verify the outcome."""
    from ticketbridge.demo.play import play

    if folder is not None:
        sys.exit(play(folder.resolve(), click.echo))
    with tempfile.TemporaryDirectory(prefix="ticketbridge-demo-") as name:
        code = play(Path(name).resolve(), click.echo)
        if code == 0:
            click.echo("The folder is removed again; --dir DIR keeps it to look at.")
    sys.exit(code)
