"""``ticketbridge press-sim``: a simulated press to try the bridge against."""

import sys
from pathlib import Path

import click


@click.command("press-sim")
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option(
    "--clock-factor",
    type=click.FloatRange(min=0),
    default=1.0,
    show_default=True,
    help="How many times faster than a real press it prints; 0 waits for nothing at all.",
)
@click.option(
    "--until-idle",
    "until_idle_s",
    type=click.FloatRange(min=0),
    metavar="SECONDS",
    help="End after so many seconds without work.",
)
@click.option("--stop-at-eof", is_flag=True, help="End when standard input closes.")
def press_sim(folder: Path, clock_factor: float, until_idle_s: float | None, stop_at_eof: bool) -> None:
    """Run a simulated press on FOLDER, where its press.yaml lies.

    It takes tickets from its lanes' folders, prints them in simulated time, keeps a log of all that was
    laid down in print-log.jsonl, and answers with JMF signals and the returned tickets. Stop it with Ctrl-C;
    started again it goes on where it was.

    A file FOLDER/control/jam brings a jam. Where a roll ends, the lane waits for a file roll-loaded in
    FOLDER/control/DEVICE, or for the time that roll_change_s in press.yaml names.

    With http_port in press.yaml it takes JMF as well. Files in FOLDER/control/http make it misbehave, each once:
    late, silence, cut, deaf, wrong-code or refuse for an answer, all or those to one type of message
    (silence-SubmitQueueEntry), twice or swapped for its signals. The file may hold seconds or a ReturnCode.
    """
    from ticketbridge.press_sim import run

    sys.exit(run(folder, clock_factor=clock_factor, until_idle_s=until_idle_s, stop_at_eof=stop_at_eof))
