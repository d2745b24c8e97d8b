"""``ticketbridge jobs``: what is in the queue, and the whole story of one job."""

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.shop_option import json_option, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from ticketbridge.model.job import Standing


@click.command()
@shop_option
@json_option
@click.argument("queue_entry", required=False)
def jobs(folder: Path, queue_entry: str | None, *, as_json: bool) -> None:
    """List the jobs of a shop; with QUEUE_ENTRY, show one with its reasons and its history."""
    with viewed(folder) as tx:
        standings = tx.all_jobs()
        if queue_entry is None:
            click.echo(_as_json(standings) if as_json else _listing(standings))
            return
        found = [standing for standing in standings if standing.queue_entry_id == queue_entry]
        if not found:
            click.echo(f"There is no job {queue_entry}; `ticketbridge jobs` lists them.", err=True)
            sys.exit(1)
        job, history = tx.job(queue_entry), tx.history(queue_entry)
    if as_json:
        story: dict[str, Any] = {
            "standing": json.loads(_as_json(found))[0],
            "order": job.order.model_dump(mode="json"),
            "layout": job.layout.as_json(),
            "estimate": job.estimate.as_json(),
            "lanes": [[lane.device_id, [v.as_json() for v in lane.verdicts]] for lane in job.judged],
            "origins": dict(job.origins),
            "history": history,
        }
        click.echo(json.dumps(story, indent=2))
        return
    from ticketbridge.cli.reasons import estimate_lines, lane_lines, layout_lines

    click.echo(_listing(found))
    click.echo("\n".join(["", *layout_lines(job.layout), *estimate_lines(job.estimate), ""]))
    click.echo("\n".join(line for lane in job.judged for line in lane_lines(lane)))
    click.echo("\nHistory (UTC)")
    for event in history:
        facts = ", ".join(f"{name}: {value}" for name, value in event["facts"].items())
        click.echo(f"  {event['at'][:23]}  {event['what']:<14} {event['who']:<10} {facts}".rstrip())


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
