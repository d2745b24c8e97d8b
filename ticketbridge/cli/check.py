"""``ticketbridge check``: is the shop right, and are its folders there?"""

import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.shop_option import json_option, shop_option

if TYPE_CHECKING:
    from ticketbridge.config.load import LoadedShop
    from ticketbridge.model.finding import Finding
    from ticketbridge.model.substrate import Roll


@click.command("check")
@shop_option
@json_option
@click.option(
    "--explain", "key", metavar="KEY", help="Say what a key of the files means, such as lanes.ahead."
)
def check(folder: Path, as_json: bool, key: str | None) -> None:
    """Check the files and folders of a shop.

    Lists everything that is wrong with its file, line and column, and what to do about it; else prints a
    summary of the shop. Exit status 0 when the bridge can run, 1 when it cannot.
    """
    if key is not None:
        _explain(key)
        return
    loaded, findings = _checked(folder)
    from ticketbridge.model.codes import refuses

    refused = loaded is None or refuses(findings)
    summary = None if refused or loaded is None else _summary(loaded)
    if as_json:
        answer = {
            "ok": not refused,
            "findings": [_for_programs(finding) for finding in findings],
            "shop": summary,
        }
        click.echo(json.dumps(answer, indent=2, ensure_ascii=False))
    else:
        _print_findings(findings)
        if summary:
            _print_summary(summary)
    sys.exit(1 if refused else 0)


def _checked(folder: Path) -> "tuple[LoadedShop | None, Sequence[Finding]]":
    from ticketbridge.config.folders import check_folders
    from ticketbridge.config.load import ConfigRefused, load_shop

    try:
        loaded = load_shop(folder)
    except ConfigRefused as refused:
        return None, refused.findings
    return loaded, [*loaded.warnings, *check_folders(loaded)]


def _explain(name: str) -> None:
    from ticketbridge.config.explain import find_keys

    found = find_keys(name)
    if not found:
        raise click.ClickException(
            f"No file of a shop has a key {name}. All keys stand in schemas/README.md; "
            "name one by its last part, such as width_mm, or by its path, such as lanes.width_mm."
        )
    for file, key in found:
        click.echo(f"{key.name}  ({file})")
        click.echo(
            f"  {key.allowed}; " + ("must be given" if key.default is None else f"default: {key.default}")
        )
        if key.about:
            click.echo(f"  {key.about}")


def _for_programs(finding: "Finding") -> dict[str, Any]:
    from ticketbridge.model.codes import remedy, sentence, severity_of

    return {
        **finding.as_json(),
        "severity": str(severity_of(finding)),
        "sentence": sentence(finding),
        "remedy": remedy(finding),
    }


def _print_findings(findings: "Sequence[Finding]") -> None:
    from ticketbridge.model.codes import printable, refuses, remedy, sentence

    for finding in findings:
        warning = "" if refuses([finding]) else "warning: "
        click.echo(f"{printable(str(finding.place))}: {warning}{sentence(finding)}")
        click.echo(f"    {remedy(finding)}")


def _summary(loaded: "LoadedShop") -> dict[str, Any]:
    shop = loaded.shop
    return {
        "name": shop.settings.name,
        "sources": [
            {"id": source.id, "drop": str(loaded.resolved(source.folder) / "drop"), "mapping": source.mapping}
            for source in shop.settings.sources
        ],
        "lanes": [
            {
                "device_id": lane.device_id,
                "name": lane.name,
                "press": press.id,
                "width_mm": lane.width_mm,
                "roll": _roll(loaded, lane.roll) if lane.roll else None,
            }
            for press, lane in shop.lanes().values()
        ],
        "shelf": [_roll(loaded, roll) for roll in shop.stock],
    }


def _roll(loaded: "LoadedShop", roll: "Roll") -> dict[str, Any]:
    from ticketbridge.decide.estimate.roll import lifting_caution, weight_of
    from ticketbridge.model.codes import remedy, sentence

    substrate = loaded.shop.substrates[roll.substrate]
    caution = lifting_caution(roll, substrate, loaded.shop.settings.lifting_limit_kg)
    return {
        "substrate": roll.substrate,
        "lot": roll.lot,
        "width_mm": roll.width_mm,
        "length_left_m": roll.length_left_m,
        "weight_kg": round(weight_of(roll, substrate), 1),
        "caution": f"{sentence(caution)} {remedy(caution)}" if caution else None,
    }


def _print_summary(summary: dict[str, Any]) -> None:
    from ticketbridge.model.codes import printable

    for line in _summary_lines(summary):
        click.echo(printable(line))


def _summary_lines(summary: dict[str, Any]) -> Iterator[str]:
    yield f"{summary['name']}: the files are right and the folders are ready."
    yield "Sources"
    for source in summary["sources"]:
        yield f"  {source['id']}: drop tickets into {source['drop']}; mapping {source['mapping']}"
    yield "Lanes"
    for lane in summary["lanes"]:
        yield f"  {lane['device_id']}: {lane['name']} of press {lane['press']}, {lane['width_mm']:g} mm wide"
        yield from _roll_lines(lane["roll"]) if lane["roll"] else ["    no roll loaded"]
    yield "Shelf"
    for roll in summary["shelf"]:
        yield from _roll_lines(roll)


def _roll_lines(roll: dict[str, Any]) -> Iterator[str]:
    yield (
        f"    {roll['substrate']}, lot {roll['lot']}, {roll['width_mm']:g} mm wide, "
        f"{roll['length_left_m']:g} m left, {roll['weight_kg']:g} kg"
    )
    if roll["caution"]:
        yield f"      Caution: {roll['caution']}"
