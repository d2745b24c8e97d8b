"""``ticketbridge lanes``: every lane with its roll and its work; hold one, or let it go on."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.ask import ask
from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from ticketbridge.model.finding import Finding


@click.group(invoke_without_command=True)
@shop_option
@json_option
@click.pass_context
def lanes(context: click.Context, folder: Path, *, as_json: bool) -> None:
    """Show every lane: the roll on it by account, its weight, what it prints and what waits for it.

    \b
    ticketbridge lanes --shop DIR                   show them
    ticketbridge lanes --shop DIR hold HL-P1-A      give that lane nothing more for now
    ticketbridge lanes --shop DIR resume HL-P1-A    let it go on
    """  # noqa: D301  click wants the very character that \b stands for
    context.obj = folder
    if context.invoked_subcommand is None:
        _show(folder, as_json=as_json)


@lanes.command()
@click.argument("lane")
@click.pass_obj
def hold(folder: Path, lane: str) -> None:
    """Give a lane no more tickets until it is resumed; what it has is printed."""
    ask(folder, "lane-hold", device_id=_known(folder, lane))


@lanes.command()
@click.argument("lane")
@click.pass_obj
def resume(folder: Path, lane: str) -> None:
    """Let a held lane go on."""
    ask(folder, "lane-resume", device_id=_known(folder, lane))


def _known(folder: Path, device_id: str) -> str:
    known = load_or_exit(folder).shop.lanes()
    if device_id not in known:
        raise click.BadParameter(f"there is no lane {device_id}; the lanes are {', '.join(known)}")
    return device_id


def _show(folder: Path, *, as_json: bool) -> None:
    from ticketbridge.decide.estimate.roll import lifting_caution, weight_of
    from ticketbridge.model.codes import remedy, sentence
    from ticketbridge.model.queue_state import OPEN

    shop = load_or_exit(folder).shop
    with viewed(folder) as tx:
        rolls, open_jobs, queues = tx.rolls(), tx.open_jobs(), tx.queue_states()
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
                "held": queues.get(device_id, OPEN).held,
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
    for one in [one for one in found if one["held"]]:
        click.echo(
            f"{one['device_id']} is held and given nothing; `ticketbridge lanes resume {one['device_id']}` lets it go on."
        )
    for caution in cautions:
        click.echo(f"Caution: {sentence(caution)} {remedy(caution)}")
