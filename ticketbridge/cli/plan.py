"""``ticketbridge plan``: what waits, in the best order found, beside the order of arrival."""

import json
import sys
from pathlib import Path
from typing import IO, TYPE_CHECKING

import click

from ticketbridge.cli.ask import ask
from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option
from ticketbridge.cli.view import viewed

if TYPE_CHECKING:
    from ticketbridge.decide.plan.shop_plan import PlannedShop
    from ticketbridge.model.shop import Shop

steps_option = click.option(
    "--steps",
    type=click.IntRange(0, 5_000_000),
    default=50_000,
    show_default=True,
    help="How long to search: changes to try.",
)


@click.group(invoke_without_command=True)
@shop_option
@steps_option
@click.option("--picture", type=click.File("wb"), help="Draw the plan into this file, as SVG.")
@click.option("--why", "queue_entry", metavar="JOB", help="Say why this job stands where it stands.")
@json_option
@click.pass_context
def plan(
    context: click.Context,
    folder: Path,
    steps: int,
    picture: IO[bytes] | None,
    queue_entry: str | None,
    *,
    as_json: bool,
) -> None:
    """Plan the waiting jobs: on which lane, when, beside what. Nothing changes until a plan is accepted.

    \b
    ticketbridge plan --shop DIR                    the plan, beside the order of arrival
    ticketbridge plan --shop DIR --why Q000012      why not earlier, why not on another lane
    ticketbridge plan --shop DIR accept             the plan comes into force
    """  # noqa: D301  click wants the very character that \b stands for
    context.obj = (folder, steps)
    if context.invoked_subcommand is not None:
        return
    shop = load_or_exit(folder).shop
    planned, left_out = _planned(folder, shop, steps)
    if queue_entry is not None:
        _say_why(planned, queue_entry, as_json=as_json)
        return
    if picture is not None:
        from ticketbridge.report.plan_picture import plan_picture

        names = {lane.device_id: lane.name for press in shop.presses.values() for lane in press.lanes}
        picture.write(plan_picture(planned.plan, names, planned.now.zone, f"Plan, {shop.settings.name}"))
    if as_json:
        told = planned.plan.as_json()
        click.echo(json.dumps(told | {"unplanned": told["unplanned"] | left_out}, indent=2))
        return
    from ticketbridge.cli.plan_lines import plan_lines

    click.echo("\n".join(_safe(plan_lines(planned.plan, left_out, planned.now.zone))))


@plan.command()
@click.pass_obj
def accept(told: tuple[Path, int]) -> None:
    """Plan as `ticketbridge plan` does, and put the plan into force: lanes and order of the waiting jobs."""
    from ticketbridge.flow.plan.planning import places_in

    folder, steps = told
    planned, _ = _planned(folder, load_or_exit(folder).shop, steps)
    places = [[place.queue_entry_id, place.device_id] for place in places_in(planned)]
    ask(folder, "plan", places=places)


def _planned(folder: Path, shop: "Shop", steps: int) -> "tuple[PlannedShop, dict[str, str]]":
    """The plan by the store as it is now; exit code 0 with a sentence where nothing waits."""
    from ticketbridge.daemon.clock import now
    from ticketbridge.decide.plan.search import Budget
    from ticketbridge.decide.plan.shop_plan import plan_shop
    from ticketbridge.flow.plan.learning import experience_of
    from ticketbridge.flow.plan.planning import shop_now
    from ticketbridge.model.codes import remedy, sentence
    from ticketbridge.model.finding import Finding

    with viewed(folder) as tx:
        facts, left_out = shop_now(tx, shop, now(), experience=experience_of(tx.actuals()))
    if not facts.waiting:
        for name, code in left_out.items():
            click.echo(sentence(Finding(code, facts={"queue_entry_id": name})))
        nothing = Finding("plan.nothing")
        click.echo(f"{sentence(nothing)} {remedy(nothing)}")
        sys.exit(0)
    return plan_shop(facts, Budget(steps=steps)), left_out


def _say_why(planned: "PlannedShop", queue_entry: str, *, as_json: bool) -> None:
    from ticketbridge.cli.plan_lines import places_json, why_lines
    from ticketbridge.decide.plan.shop_plan import AIM
    from ticketbridge.decide.plan.why import other_places

    lines = why_lines(planned, queue_entry, planned.now.zone)
    if not lines:
        click.echo(f"The plan has no job {queue_entry}; `ticketbridge plan` shows which it has.", err=True)
        sys.exit(1)
    if not as_json:
        click.echo("\n".join(_safe(lines)))
        return
    problem = planned.facts.problem
    index = next(at for at, one in enumerate(problem.jobs) if one.name == queue_entry)
    job = next(one for one in planned.plan.jobs if one.queue_entry_id == queue_entry)
    elsewhere = [] if job.given else other_places(problem, planned.blocks, index, AIM)
    click.echo(json.dumps({"job": job.as_json(), "elsewhere": places_json(elsewhere, planned)}, indent=2))


def _safe(lines: list[str]) -> list[str]:
    """Everything from outside made safe for a terminal."""
    from ticketbridge.model.codes import printable

    return [printable(part) for line in lines for part in line.split("\n")]
