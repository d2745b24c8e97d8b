"""``ticketbridge rolls``: the stock of rolls, and what people do with them."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.ask import ask
from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from ticketbridge.model.shop import Shop
    from ticketbridge.model.stock import StockRoll

lane_option = click.option("--lane", required=True, metavar="DEVICE", help="The lane's device_id.")
number_option = click.option(
    "--number", type=click.IntRange(1), help="Which roll of the lot, where it has several."
)
gone_option = click.option("--gone", is_flag=True, help="What comes off is used up or thrown away.")


@click.group(invoke_without_command=True)
@shop_option
@json_option
@click.option("--all", "everything", is_flag=True, help="Also rolls that are gone.")
@click.pass_context
def rolls(context: click.Context, folder: Path, *, as_json: bool, everything: bool) -> None:
    """List the rolls of a shop; with a word after it, tell the bridge what was done with one.

    \b
    ticketbridge rolls --shop DIR                                list them
    ticketbridge rolls --shop DIR receive BAN510 LOT 1600 50     a new roll: substrate, lot, mm, m
    ticketbridge rolls --shop DIR load LOT --lane HL-P1-A        put it on a lane
    """  # noqa: D301  click wants the very character that \b stands for
    context.obj = folder
    if context.invoked_subcommand is None:
        shop = load_or_exit(folder).shop
        with viewed(folder) as tx:
            stock = [one for one in tx.stock() if everything or one.place != "gone"]
        found = [_described(shop, one) for one in stock]
        click.echo(json.dumps(found, indent=2) if as_json else _listing(found))


@rolls.command()
@click.argument("substrate")
@click.argument("lot")
@click.argument("width_mm", type=float)
@click.argument("length_m", type=float)
@click.option("--core-outside-mm", type=float, help="Where its core is not the usual one.")
@click.pass_obj
def receive(folder: Path, /, **told: Any) -> None:
    """Book a new roll in: SUBSTRATE, LOT, width in mm, length in m. It goes to the shelf."""
    ask(folder, "roll-receive", **told)


@rolls.command()
@click.argument("lot")
@lane_option
@number_option
@click.pass_obj
def load(folder: Path, /, **told: Any) -> None:
    """Say that a roll of LOT was put on a lane that was empty."""
    ask(folder, "roll-load", **told)


@rolls.command()
@click.argument("lot")
@lane_option
@number_option
@gone_option
@click.pass_obj
def change(folder: Path, /, **told: Any) -> None:
    """Say that the roll on a lane was changed for one of LOT."""
    ask(folder, "roll-change", **told)


@rolls.command()
@lane_option
@gone_option
@click.pass_obj
def unload(folder: Path, /, **told: Any) -> None:
    """Say that the roll on a lane was taken off."""
    ask(folder, "roll-unload", **told)


@rolls.command()
@click.argument("lot")
@click.option("--diameter-mm", type=float, required=True, help="Across the whole roll, as measured.")
@click.option("--take-measured", is_flag=True, help="The measured length is right: correct the account.")
@number_option
@click.pass_obj
def measure(folder: Path, /, **told: Any) -> None:
    """Compare what is left on a roll of LOT, by its diameter, with the account."""
    ask(folder, "roll-measure", **told)


@rolls.command()
@click.argument("lot")
@click.option("--at-m", type=float, required=True, help="From the outer end of the roll as it is now.")
@number_option
@click.pass_obj
def splice(folder: Path, /, **told: Any) -> None:
    """Note a splice on a roll of LOT: nothing will be printed over it."""
    ask(folder, "roll-flaw", **told)


@rolls.command()
@click.argument("lot")
@click.option("--at-m", type=float, required=True, help="Where it begins, from the outer end as it is now.")
@click.option("--length-mm", type=float, required=True, help="How far it reaches along the roll.")
@click.option("--what", required=True, help="A word for it, such as crease.")
@number_option
@click.pass_obj
def flaw(folder: Path, /, **told: Any) -> None:
    """Note a fault on a roll of LOT: nothing will be printed over it."""
    ask(folder, "roll-flaw", **told)


@rolls.command()
@click.argument("lot")
@number_option
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="A file; default is the screen.")
@click.pass_obj
def label(folder: Path, lot: str, number: int | None, out: Path | None) -> None:
    """Draw the label of a roll of LOT as SVG, A6, with the lot as a barcode."""
    from ticketbridge.spool import durable

    shop = load_or_exit(folder).shop
    with viewed(folder) as tx:
        found = [one for one in tx.rolls_of_lot(lot) if number in (None, one.roll.number)]
        there = [one for one in found if one.place != "gone"]
    if not there:
        click.echo(f"There is no roll of lot {lot}; `ticketbridge rolls` lists them.", err=True)
        sys.exit(1)
    if len(there) > 1:
        numbers = ", ".join(str(one.roll.number) for one in there)
        click.echo(f"Lot {lot} has several rolls: numbers {numbers}. Say which, with --number.", err=True)
        sys.exit(1)
    drawing = _label(shop, there[0])
    if out is None:
        click.echo(drawing, nl=False)
    else:
        durable.write_unsynced(out, drawing.encode())
        click.echo(f"The label of lot {lot} is in {out}.")


def _label(shop: "Shop", stock: "StockRoll") -> str:
    from ticketbridge.daemon.clock import now
    from ticketbridge.decide.barcode import QUIET_MODULES, bars_of
    from ticketbridge.report.roll_label import RollLabel, roll_label

    roll, known = stock.roll, _described(shop, stock)
    try:
        return roll_label(
            RollLabel(
                substrate_id=roll.substrate,
                substrate_name=known["substrate_name"] or "",
                lot=roll.lot,
                roll_number=roll.number,
                width_mm=roll.width_mm,
                length_m=roll.length_left_m,
                weight_kg=known["weight_kg"] or 0.0,
                caution=known["caution"],
                on=now().date(),
            ),
            bars_of(roll.lot),
            QUIET_MODULES,
        )
    except ValueError as problem:
        click.echo(
            f"No label for lot {roll.lot}: {problem}. Book the roll in under a shorter, plainer lot.",
            err=True,
        )
        sys.exit(1)


def _described(shop: "Shop", stock: "StockRoll") -> dict[str, Any]:
    """A roll with what follows from the catalogue; without its substrate that is not known."""
    from ticketbridge.decide.estimate.roll import diameter_of, lifting_caution, weight_of
    from ticketbridge.model.codes import remedy, sentence

    roll, substrate = stock.roll, shop.substrates.get(stock.roll.substrate)
    caution = lifting_caution(roll, substrate, shop.settings.lifting_limit_kg) if substrate else None
    return roll.model_dump(mode="json") | {
        "place": stock.place,
        "substrate_name": substrate.name if substrate else None,
        "diameter_mm": round(diameter_of(roll, substrate), 1) if substrate else None,
        "weight_kg": round(weight_of(roll, substrate), 1) if substrate else None,
        "measured_diameter_mm": stock.measured_diameter_mm,
        "measured_at": stock.measured_at and stock.measured_at.isoformat(),
        "caution": f"{sentence(caution)} {remedy(caution)}" if caution else None,
    }


def _listing(found: list[dict[str, Any]]) -> str:
    from ticketbridge.model.codes import printable

    if not found:
        return "No rolls yet."
    headings = (
        "Substrate", "Lot", "No", "Where", "Width mm", "Left m", "Across mm", "Weight kg", "Measured mm", "Flaws",
    )  # fmt: skip
    rows = [
        (
            one["substrate"],
            one["lot"],
            str(one["number"]),
            one["place"],
            f"{one['width_mm']:g}",
            f"{one['length_left_m']:.1f}",
            _known(one["diameter_mm"]),
            _known(one["weight_kg"]),
            _known(one["measured_diameter_mm"]),
            ", ".join(f"{flaw['what']} at {flaw['at_mm'] / 1000:.2f} m" for flaw in one["flaws"]),
        )
        for one in found
    ]
    lines = table(headings, rows).splitlines()
    lines += [f"Caution: {one['caution']}" for one in found if one["caution"]]
    return "\n".join(printable(line) for line in lines)


def _known(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
