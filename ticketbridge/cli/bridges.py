"""``ticketbridge bridges``: which bridges run, and which of them serves what."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.shop_option import json_option, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ticketbridge.store.leases import Lease, Seat


@click.command()
@shop_option
@json_option
def bridges(folder: Path, *, as_json: bool) -> None:
    """Show which bridges share the shop, since when, and who serves each hot folder, lane and subscriber.

    Where the store is the SQLite file of the shop folder, the one bridge that runs on it serves everything.
    """
    from ticketbridge.config.load import store_of

    if isinstance(store_of(folder), Path):
        click.echo("This shop keeps its store in a file: one bridge serves everything.", err=as_json)
        if as_json:
            click.echo(json.dumps({"bridges": [], "leases": []}))
        return
    with viewed(folder) as tx:
        seats, leases = tx.bridges()
    if as_json:
        told: dict[str, Any] = {
            "bridges": [asdict(seat) | {"can_serve": sorted(seat.can_serve)} for seat in seats],
            "leases": [asdict(lease) for lease in leases],
        }
        click.echo(json.dumps(told, indent=2))
        return
    click.echo(_seats(seats))
    click.echo("")
    click.echo(_leases(leases))


def _seats(seats: "Sequence[Seat]") -> str:
    if not seats:
        return "No bridge runs."
    headings = ("Bridge", "Machine", "Process", "Version", "Up for", "Heartbeat")
    rows = [
        (
            seat.bridge_id,
            seat.host,
            str(seat.pid),
            seat.version,
            _duration(seat.up_s),
            "well" if seat.left_s > 0 else f"missing for {_duration(-seat.left_s)}",
        )
        for seat in seats
    ]
    return table(headings, rows)


def _leases(leases: "Sequence[Lease]") -> str:
    headings = ("Serves", "Bridge", "For", "Taken over")
    rows = [
        (
            lease.name,
            lease.bridge_id or "nobody",
            _duration(lease.held_s) if lease.bridge_id else "",
            f"{lease.takeovers} times" if lease.takeovers else "never",
        )
        for lease in leases
    ]
    return table(headings, rows)


def _duration(seconds: float) -> str:
    if seconds < 120:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 7200 else f"{seconds / 3600:.0f} h"
