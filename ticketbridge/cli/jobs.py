"""``ticketbridge jobs``: what is in the queue, and the whole story of one job."""

import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import click

from ticketbridge.cli.ask import ask
from ticketbridge.cli.shop_option import json_option, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from ticketbridge.model.job import Job, Standing


ENDED_SHOWN = 100


@click.group(invoke_without_command=True)
@shop_option
@json_option
@click.option("--all", "every", is_flag=True, help="Also every job that was finished long ago.")
@click.pass_context
def jobs(context: click.Context, folder: Path, *, as_json: bool, every: bool) -> None:
    """List the jobs of a shop, of the finished ones the latest 100; with a word after it, show one or ask the bridge to do something with it.

    \b
    ticketbridge jobs --shop DIR                 list them
    ticketbridge jobs --shop DIR show Q000012    one with its reasons and its history
    ticketbridge jobs --shop DIR retry           refused tickets again, after a mapping was mended
    """  # noqa: D301  click wants the very character that \b stands for
    context.obj = folder
    if context.invoked_subcommand is None:
        with viewed(folder) as tx:
            standings = tx.all_jobs() if every else tx.recent_jobs(ENDED_SHOWN)
        click.echo(_as_json(standings) if as_json else _listing(standings))


@jobs.command()
@click.argument("queue_entry")
@click.option("--picture", type=click.File("wb"), help="Draw its roll into this file, as SVG.")
@json_option
@click.pass_obj
def show(folder: Path, queue_entry: str, picture: IO[bytes] | None, *, as_json: bool) -> None:
    """Show one job with its reasons and its history, or a gang run (G000012) with the jobs on it."""
    from ticketbridge.cli.run_view import gang_lines, run_of, run_picture

    with viewed(folder) as tx:
        view = run_of(tx, queue_entry)
        if view is None:
            click.echo(f"There is no job {queue_entry}; `ticketbridge jobs` lists them.", err=True)
            sys.exit(1)
        names = [job.queue_entry_id for job, _ in view.parts]
        named = [queue_entry] if queue_entry in names else names
        stories = [(tx.standing(name), tx.job(name), tx.history(name)) for name in named]
    if as_json and queue_entry in names:
        click.echo(_story_json(*stories[0]))
    elif as_json:
        told = [json.loads(_story_json(*story)) for story in stories]
        click.echo(json.dumps({"gang": view.name, "jobs": told}, indent=2))
    elif queue_entry in names:
        click.echo(_story(*stories[0], gang_lines(view)))
    else:
        listing = _listing([standing for standing, _, _ in stories])
        click.echo(f"{listing}\n\n{printable_lines(gang_lines(view))}")
    if picture is not None:
        picture.write(run_picture(view, folder))


@jobs.command()
@click.argument("queue_entry")
@click.pass_obj
def hold(folder: Path, queue_entry: str) -> None:
    """Keep a waiting job from its lane until it is resumed."""
    ask(folder, "hold", queue_entry_id=queue_entry)


@jobs.command()
@click.argument("queue_entry")
@click.pass_obj
def resume(folder: Path, queue_entry: str) -> None:
    """Let a held job go on."""
    ask(folder, "resume", queue_entry_id=queue_entry)


@jobs.command()
@click.argument("queue_entry")
@click.pass_obj
def cancel(folder: Path, queue_entry: str) -> None:
    """Take a job out of the queue that the press does not have yet."""
    ask(folder, "cancel", queue_entry_id=queue_entry)


@jobs.command()
@click.argument("queue_entry")
@click.argument("due", type=click.DateTime(["%Y-%m-%dT%H:%M:%S%z", "%Y-%m-%dT%H:%M%z"]))
@click.pass_obj
def due(folder: Path, queue_entry: str, due: datetime) -> None:
    """Give a waiting job another due time, such as 2026-12-01T17:00+01:00."""
    ask(folder, "due", queue_entry_id=queue_entry, due=due.isoformat())


@jobs.command()
@click.argument("queue_entry")
@click.argument("priority", type=click.IntRange(0, 100))
@click.pass_obj
def priority(folder: Path, queue_entry: str, priority: int) -> None:
    """Give a waiting job another priority, 0 to 100; higher goes first."""
    ask(folder, "priority", queue_entry_id=queue_entry, priority=priority)


@jobs.command("print-again")
@click.argument("queue_entry")
@click.pass_obj
def print_again(folder: Path, queue_entry: str) -> None:
    """Print a finished job once more, as a job of its own."""
    ask(folder, "print-again", queue_entry_id=queue_entry)


@jobs.command()
@click.argument("queue_entry")
@click.pass_obj
def delivered(folder: Path, queue_entry: str) -> None:
    """Say that the press has a job's ticket, where the bridge asks."""
    ask(folder, "delivered", queue_entry_id=queue_entry)


@jobs.command("send-again")
@click.argument("queue_entry")
@click.pass_obj
def send_again(folder: Path, queue_entry: str) -> None:
    """Say that the press does not have a job's ticket and did not print it: it is sent once more."""
    ask(folder, "send-again", queue_entry_id=queue_entry)


@jobs.command()
@click.argument("names", nargs=-1)
@click.pass_obj
def retry(folder: Path, names: tuple[str, ...]) -> None:
    """Take refused tickets in again, by the shop folder as it is now; NAMES are their file names, none means all."""
    ask(folder, "retry", names=list(names))


def _story(
    standing: "Standing", job: "Job", history: Sequence[Mapping[str, Any]], together: Sequence[str]
) -> str:
    """The job in words; its layout is that of the gang that it is printed in, where there is one."""
    from ticketbridge.cli.reasons import estimate_lines, lane_lines, layout_lines

    alone = () if together else (*layout_lines(job.layout, job.item), *estimate_lines(job.estimate))
    lines = [_listing([standing]), "", *together, *alone, ""]
    lines += [line for lane in job.judged for line in lane_lines(lane)]
    lines += ["", "History (UTC)"]
    for event in history:
        facts = ", ".join(f"{name}: {value}" for name, value in event["facts"].items())
        lines.append(f"  {event['at'][:23]}  {event['what']:<14} {event['who']:<10} {facts}".rstrip())
    return printable_lines(lines)


def printable_lines(lines: Sequence[str]) -> str:
    """Lines with everything from outside made safe for a terminal."""
    from ticketbridge.model.codes import printable

    return "\n".join(printable(part) for line in lines for part in line.split("\n"))


def _story_json(standing: "Standing", job: "Job", history: Sequence[Mapping[str, Any]]) -> str:
    story: dict[str, Any] = {
        "standing": json.loads(_as_json([standing]))[0],
        "order": job.order.model_dump(mode="json"),
        "roll": job.roll and job.roll.model_dump(),
        "layout": job.layout.as_json(),
        "estimate": job.estimate.as_json(),
        "lanes": [[lane.device_id, lane.verdicts] for lane in job.judged],
        "origins": dict(job.origins),
        "history": list(history),
    }
    return json.dumps(story, indent=2)


def _listing(standings: "list[Standing]") -> str:
    if not standings:
        return "No jobs yet."
    headings = ("Entry", "JobID", "Part", "Rev", "State", "Phase", "Lane", "Good/Of", "Due (UTC)")
    rows = [
        (
            one.queue_entry_id,
            one.job_id,
            one.job_part_id,
            str(one.revision),
            one.state.value,
            one.phase,
            one.device_id,
            f"{one.amount:g}/{one.quantity}",
            one.due.strftime("%Y-%m-%d %H:%M") if one.due else "",
        )
        for one in standings
    ]
    return table(headings, rows)


def _as_json(standings: "list[Standing]") -> str:
    return json.dumps([asdict(one) for one in standings], indent=2, default=str)
