"""``ticketbridge estimates``: what prints took beside what the model had said, and what was learned of it."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING

import click

from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from ticketbridge.model.learned import Actual, Experience, Learned


@click.command()
@shop_option
@click.option(
    "--picture", type=click.File("wb"), help="Plot estimated and taken time into this file, as SVG."
)
@click.option("--ink", is_flag=True, help="Plot ink instead of time.")
@json_option
def estimates(folder: Path, picture: IO[bytes] | None, *, ink: bool, as_json: bool) -> None:
    """Show how far time and ink of finished prints lay from the model, and by what estimates are corrected."""
    from ticketbridge.flow.plan.learning import experience_of

    shop = load_or_exit(folder).shop
    with viewed(folder) as tx:
        actuals = tx.actuals()
    experience = experience_of(actuals)
    if picture is not None:
        picture.write(_plotted(actuals, experience, ink=ink, title=shop.settings.name))
    if as_json:
        click.echo(json.dumps(experience.as_json(), indent=2))
        return
    if not actuals:
        click.echo("No press has returned a ticket with its times yet, so estimates are the bare model's.")
        return
    click.echo(_table("Time", experience.time))
    click.echo(f"\n{_table('Ink', experience.ink)}")
    for press, (runs, by) in experience.time.changed.items():
        change = f"{abs(100 * (by - 1)):.0f} % {'more' if by > 1 else 'less'} time"
        click.echo(
            f"{press} takes {change} than before, since about {runs} prints; what was before is forgotten."
        )
    click.echo("x is what the model's figure is multiplied by; eight of ten prints lie between low and high.")


def _table(what: str, learned: "Learned") -> str:
    rows = [
        (*(*key, "all", "all")[:3], str(one.runs), f"{one.factor:.2f}", f"{one.low:.2f}", f"{one.high:.2f}")
        for key, one in sorted(learned.corrections.items())
    ]
    return table((what, "Mode", "Substrate", "Prints", "x", "Low", "High"), rows or [("none yet", *[""] * 6)])


def _plotted(actuals: "Sequence[Actual]", experience: "Experience", *, ink: bool, title: str) -> bytes:
    """A group for each press and mode."""
    from ticketbridge.report.estimates_picture import estimates_picture

    learned = experience.ink if ink else experience.time
    groups: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one in actuals:
        estimated, actual = (one.estimated_ml, one.actual_ml) if ink else (one.estimated_s, one.actual_s)
        if actual is not None:
            share = 1 if ink else 60
            groups.setdefault((one.press, one.print_mode), []).append((estimated / share, actual / share))
    named = [
        (f"{press}, {mode}", prints, learned.for_print(press, mode, "").factor)
        for (press, mode), prints in sorted(groups.items())
    ]
    return estimates_picture(named, f"{'Ink' if ink else 'Time'} of prints, {title}", "ml" if ink else "min")
