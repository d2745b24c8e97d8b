"""``ticketbridge explain``: the whole reasoning about one ticket. Changes nothing."""

import json
import sys
from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import click

from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option

if TYPE_CHECKING:
    from ticketbridge.decide.route import Judged
    from ticketbridge.flow.deciding import Decided
    from ticketbridge.model.lane_state import LaneState
    from ticketbridge.model.learned import Experience
    from ticketbridge.model.shop import Shop
    from ticketbridge.model.substrate import Roll


@click.command()
@shop_option
@json_option
@click.option(
    "--source",
    "source_id",
    help="The source it would be dropped at; default is the first that takes such files.",
)
@click.option(
    "--picture",
    type=click.File("wb", lazy=True),
    help="Draw the layouts to scale into this SVG file.",
)
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
def explain(
    folder: Path, file: Path, source_id: str | None, picture: IO[bytes] | None, *, as_json: bool
) -> None:
    """Show what would be made of FILE: values with their origin, layout, every lane's verdict, the ticket.

    Artwork is looked for beside FILE. Exit code 0: it would become a job; 1: it, one of its orders or one of its
    items would be refused.
    """
    from ticketbridge.accept.litter import kind_of, kinds_taken
    from ticketbridge.accept.read import Setting, content_of, read
    from ticketbridge.daemon.clock import now
    from ticketbridge.flow.bridge import artwork_roots, artwork_rows
    from ticketbridge.flow.deciding import decide
    from ticketbridge.flow.meaning import meaning_of
    from ticketbridge.spool.places import ShopPlaces

    shop = load_or_exit(folder).shop
    sources = {source.id: source for source in shop.settings.sources}
    takes = [
        source
        for source in sources.values()
        if kind_of(file.name) in kinds_taken(source, shop.mappings[source.mapping])
    ]
    source = sources.get(source_id) if source_id else next(iter(takes), shop.settings.sources[0])
    if source is None:
        click.echo(f"There is no source {source_id}; there are {', '.join(sources)}.", err=True)
        sys.exit(2)
    drop = file.resolve().parent
    roots = (drop, *artwork_roots(ShopPlaces(folder.resolve()), source))
    content = content_of(file.resolve(), file.name, shop.settings.limits.ticket_bytes)
    rows = artwork_rows(ShopPlaces(folder.resolve()), source)
    setting = Setting(shop.settings, source, shop.mappings[source.mapping], drop, roots, now(), rows)
    found = read(content, file.name, file.resolve(), setting)
    states, shelf, experience = _now(folder, shop)
    orders = [
        decide(
            meaning_of(one, file.name, shop, source),
            file=file.name,
            shop=shop,
            source=source,
            states=states,
            now=now(),
            stock=shelf,
            experience=experience,
        )
        for one in found
    ]
    if as_json:
        told = [_as_json(decided, shop) for decided in orders]
        click.echo(json.dumps(told[0] if len(told) == 1 else {"orders": told}, indent=2))
    else:
        click.echo("\n\n".join(_in_words(decided, shop) for decided in orders))
    if picture is not None:
        _draw(orders, picture)
    sys.exit(1 if any(decided.refused or decided.left_out for decided in orders) else 0)


def _draw(orders: "Sequence[Decided]", picture: IO[bytes]) -> None:
    """Every item's layout on its chosen lane; nothing where no lane can print anything."""
    from ticketbridge.decide.layout.cut_list import cut_list
    from ticketbridge.decide.layout.marks import marks_on
    from ticketbridge.model.layout import Layout
    from ticketbridge.report.roll_picture import Roll, roll_picture

    rolls = []
    for decided in orders:
        for index, best in enumerate(decided.chosen):
            if decided.order is None or best is None or not isinstance(best.layout, Layout):
                continue
            item = decided.order.items[index]
            marks = marks_on(best.layout, item, decided.order.job_id, "Q000000")
            title = f"{decided.order.job_id}, part {item.job_part_id}: {best.lane.name}"
            cuts = cut_list(best.layout.placements).cuts
            rolls.append(Roll(title, item, best.layout, marks, best.lane.margin_left_mm, cuts))
    if rolls:
        picture.write(roll_picture(rolls))
    else:
        click.echo("There is no layout to draw.", err=True)


def _now(folder: Path, shop: "Shop") -> "tuple[dict[str, LaneState], tuple[Roll, ...] | None, Experience]":
    """Lanes, shelf and what was learned as a running bridge has them, else as the shop folder has them."""
    from ticketbridge.cli.view import viewed
    from ticketbridge.flow.bridge import lane_states
    from ticketbridge.flow.plan.learning import experience_of
    from ticketbridge.model.learned import NOTHING_LEARNED
    from ticketbridge.spool.places import ShopPlaces

    if not ShopPlaces(folder.resolve()).database.exists():
        return {}, None, NOTHING_LEARNED
    with viewed(folder) as tx:
        states = dict(lane_states(shop, tx.rolls(), tx.lane_loads()))
        return states, tx.shelf(), experience_of(tx.actuals())


def _tickets(decided: "Decided", shop: "Shop") -> list[str | None]:
    """The lane ticket of each item, as it would be written."""
    from ticketbridge import __version__
    from ticketbridge.daemon.clock import now
    from ticketbridge.flow.lane.lane_tickets import lane_tickets
    from ticketbridge.jdf.writing import as_text

    tickets = lane_tickets(decided, shop, now(), __version__)
    return [None if ticket is None else as_text(ticket) for ticket in tickets]


def _as_json(decided: "Decided", shop: "Shop") -> dict[str, Any]:
    return {
        "refused": decided.refused,
        "findings": [finding.as_json() for finding in decided.findings],
        "left_out": [finding.as_json() for finding in decided.left_out],
        "order": decided.order and decided.order.model_dump(mode="json"),
        "identities": list(decided.identities),
        "origins": {name: origin.as_json() for name, origin in decided.meaning.origins.items()},
        "items": [
            {"chosen": best and best.lane.device_id, "lanes": [_judged_json(one) for one in judged]}
            for best, judged in zip(decided.chosen, decided.judged, strict=True)
        ],
        "tickets": _tickets(decided, shop),
    }


def _judged_json(judged: "Judged") -> dict[str, Any]:
    from ticketbridge.model.layout import Layout
    from ticketbridge.model.verdict import ANSWER_WORDS

    return {
        "device_id": judged.lane.device_id,
        "answer": ANSWER_WORDS[judged.verdict.answer],
        "minutes": judged.verdict.minutes,
        "verdicts": judged.verdict.verdicts,
        "layout": judged.layout.as_json() if isinstance(judged.layout, Layout) else None,
        "estimate": judged.estimate and judged.estimate.as_json(),
    }


def _in_words(decided: "Decided", shop: "Shop") -> str:
    from ticketbridge.cli.reasons import (
        estimate_lines,
        lane_lines,
        layout_lines,
        pattern_lines,
        together_lines,
    )
    from ticketbridge.model.codes import remedy, sentence, severity_of
    from ticketbridge.model.layout import Layout

    lines = [f"Order {decided.order.job_id}"] if decided.order else []
    for heading, findings in (("Findings", decided.findings), ("Items left out", decided.left_out)):
        lines += [heading] if findings else []
        for finding in findings:
            about = f" (part {finding.place.part})" if finding.place.part else ""
            lines += [
                f"  {severity_of(finding)} {finding.code}{about} {finding.place}".rstrip(),
                f"    {sentence(finding)} {remedy(finding)}",
            ]
    if decided.order is not None:
        lines.append("Values and where they come from")
        lines += [f"  {name} = {value}   {origin}" for name, value, origin in _values(decided)]
    for index, best in enumerate(decided.chosen):
        part = decided.order.items[index].job_part_id if decided.order else ""
        lines.append(f"Item {part}: every lane by every rule")
        lines += [f"  {line}" for judged in decided.judged[index] for line in lane_lines(judged.verdict)]
        if best is not None:
            lines.append(f"Item {part} goes to {best.lane.device_id} ({best.lane.name})")
            if decided.order and isinstance(best.layout, Layout) and best.estimate is not None:
                item = decided.order.items[index]
                lines += layout_lines(best.layout, item)
                if best.roll is not None:
                    lines += pattern_lines(best.layout, item, best.roll.roll.length_left_m * 1000)
                lines += estimate_lines(best.estimate)
            lines += [f"  Caution: {sentence(caution)} {remedy(caution)}" for caution in best.cautions]
    if decided.order is not None:
        chosen = zip(decided.chosen, decided.order.items, strict=True)
        lines += together_lines([(best, item) for best, item in chosen if best is not None])
    lines += _beside_lines(decided, shop)
    for ticket in _tickets(decided, shop):
        if ticket is not None:
            lines += ["The ticket for the lane", ticket]
    taken = "Its other items would become jobs." if decided.left_out else "It would become a job."
    lines.append("It would be refused." if decided.refused else taken)
    return "\n".join(lines)


def _beside_lines(decided: "Decided", shop: "Shop") -> list[str]:
    """Items of the order that can print side by side, and what that costs the shorter one's roll."""
    from ticketbridge.cli.reasons import beside_lines
    from ticketbridge.decide.beside import LaneWork, clash_of
    from ticketbridge.model.layout import Layout

    lines: list[str] = []
    if decided.order is None:
        return lines
    laid = []
    for item, best in zip(decided.order.items, decided.chosen, strict=True):
        if best is not None and isinstance(best.layout, Layout):
            width = best.roll.roll.width_mm if best.roll else None
            substrate = shop.substrates.get(item.substrate)
            work = LaneWork(best.lane, item.print_mode, item.layer_stack, item.substrate, substrate, width)
            laid.append((item.job_part_id, best.press, work, best.layout))
    for (part, press, work, layout), (other, other_press, theirs, beside) in combinations(laid, 2):
        if press is other_press and clash_of(press, work, theirs) is None:
            lines += beside_lines(part, layout, other, beside)
    return lines


def _values(decided: "Decided") -> list[tuple[str, Any, str]]:
    """Every mapped value with its origin; names such as ``items[0].substrate`` are walked in the order."""
    assert decided.order is not None  # noqa: S101
    plain: Any = decided.order.model_dump(mode="json")
    rows = []
    for name, origin in decided.meaning.origins.items():
        value = plain
        for step in name.replace("]", "").replace("[", ".").split("."):
            value = value[int(step)] if isinstance(value, list) else value.get(step) if value else None
        rows.append((name, value, str(origin)))
    return rows
