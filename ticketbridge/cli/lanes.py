"""``ticketbridge lanes``: every lane with its roll and its work."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from ticketbridge.model.finding import Finding


@click.command()
@shop_option
@json_option
def lanes(folder: Path, *, as_json: bool) -> None:
    """Show every lane: the roll on it by account, its weight, what it prints and what waits for it."""
    from ticketbridge.decide.estimate.roll import lifting_caution, weight_of
    from ticketbridge.model.codes import remedy, sentence

    shop = load_or_exit(folder).shop
    with viewed(folder) as tx:
        rolls, open_jobs = tx.rolls(), tx.open_jobs()
    found: list[dict[str, Any]] = []
    cautions: list[Finding] = []
    for device_id, (press, lane) in shop.lanes().items():
        roll = rolls.get(device_id)
        mine = [job for job in open_jobs if job.device_id == device_id]
        weight = None
        if roll is not None and roll.substrate in shop.substrates:
            substrate = shop.substrates[roll.substrate]
            weight = weight_of(roll, substrate)
            caution = lifting_caution(roll, substrate, shop.settings.lifting_limit_kg)
            cautions += [caution] if caution else []
        found.append(
            {
                "device_id": device_id,
                "press": press.name,
                "lane": lane.name,
                "roll": roll and roll.model_dump(),
                "roll_weight_kg": weight and round(weight, 1),
                "at_lane": [job.queue_entry_id for job in mine if job.given],
                "waiting": [job.queue_entry_id for job in mine if not job.given],
            }
        )
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    headings = ("Device", "Lane", "Roll", "Lot", "Width mm", "Left m", "Weight kg", "At the lane", "Waiting")
    rows = []
    for one in found:
        roll = rolls.get(one["device_id"])
        rows.append(
            (
                one["device_id"],
                one["lane"],
                roll.substrate if roll else "none",
                roll.lot if roll else "",
                f"{roll.width_mm:g}" if roll else "",
                f"{roll.length_left_m:.1f}" if roll else "",
                f"{one['roll_weight_kg']}" if roll else "",
                " ".join(one["at_lane"]) or "-",
                str(len(one["waiting"])),
            )
        )
    click.echo(table(headings, rows))
    for caution in cautions:
        click.echo(f"Caution: {sentence(caution)} {remedy(caution)}")
