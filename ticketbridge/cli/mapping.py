"""``ticketbridge mapping``: try, test, count, compare and take back mappings."""

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ticketbridge.cli.shop_option import json_option, load_or_exit, shop_option

if TYPE_CHECKING:
    from ticketbridge.model.finding import Finding
    from ticketbridge.model.shop import Shop
    from ticketbridge.prove.coverage import Coverage
    from ticketbridge.prove.replay import Replay
    from ticketbridge.prove.trial import Trial

mapping_option = click.option(
    "--mapping",
    "mapping_id",
    metavar="ID",
    help="The mapping; default is that of the first source that takes such files.",
)
folder_argument = click.argument(
    "past", metavar="FOLDER", type=click.Path(path_type=Path, exists=True, file_okay=False)
)


@click.group()
def mapping() -> None:
    """Prove a mapping before it goes live. A running bridge takes a changed mapping by itself.

    \b
    ticketbridge mapping draft SAMPLE...              a first mapping from sample files, with reasons and questions
    ticketbridge mapping try FILE                     the orders of a file, and where each value comes from
    ticketbridge mapping test                         every case beside every mapping
    ticketbridge mapping coverage FOLDER              values of past tickets that no table knows
    ticketbridge mapping replay FOLDER --against NEW  what would change if NEW went live
    ticketbridge mapping back ID                      the version before, put back
    """  # noqa: D301  click wants the very character that \b stands for


@mapping.command()
@shop_option
@click.option("--as", "new_id", metavar="ID", help="Write it into mappings/ID.yaml, where there is none yet.")
@click.argument(
    "samples",
    metavar="SAMPLE...",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
)
def draft(folder: Path, samples: tuple[Path, ...], new_id: str | None) -> None:
    """Draft a mapping from sample files of one export: what stands where, how sure that is, and what is to be asked.

    The more different orders the samples hold, the better. Exit code 0: a draft was made; 1: none could be made.
    """
    from ticketbridge.cli.mapping_draft import draft_of

    sys.exit(draft_of(folder, load_or_exit(folder).shop, samples, new_id))


@mapping.command("try")
@shop_option
@json_option
@mapping_option
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
def try_(folder: Path, file: Path, mapping_id: str | None, *, as_json: bool) -> None:
    """Show the orders that FILE holds, each value beside where it comes from.

    Artwork and lanes are left out; `ticketbridge explain` shows them, too. Exit code 0: every order can be made; 1: one
    would be refused.
    """
    from ticketbridge.prove.trial import content, trials

    shop = load_or_exit(folder).shop
    name = _chosen(shop, mapping_id, file)
    found = trials(file.name, content(file, shop), shop, name)
    if as_json:
        click.echo(json.dumps([_trial_json(one) for one in found], indent=2, ensure_ascii=False))
    else:
        for one in found:
            click.echo(_trial_in_words(one))
        good = sum(one.order is not None for one in found)
        click.echo(f"{good} of {len(found)} orders can be made of {file.name} by the mapping {name}.")
    sys.exit(0 if found and all(one.order for one in found) else 1)


@mapping.command()
@shop_option
@click.option("--write", is_flag=True, help="Write the expectations that are missing, to be looked through.")
@click.argument("ids", metavar="[ID]...", nargs=-1)
def test(folder: Path, ids: tuple[str, ...], *, write: bool) -> None:
    """Compare every case beside the mappings with what is expected of it.

    The cases of mappings/ID.yaml lie in the folder mappings/ID.cases: files of the MIS, and beside each FILE what ought to
    come of it, FILE.expected.yaml. Exit code 0: all as expected; 1: not all, or there is no case.
    """
    from ticketbridge.cli.mapping_cases import run_cases

    loaded = load_or_exit(folder)
    for name in ids:
        _known(loaded.shop, name)
    sys.exit(run_cases(loaded, ids or tuple(sorted(loaded.shop.mappings)), write=write))


@mapping.command()
@shop_option
@json_option
@mapping_option
@folder_argument
def coverage(folder: Path, past: Path, mapping_id: str | None, *, as_json: bool) -> None:
    """Count the values in the past tickets below FOLDER that the mapping has no row for, with what they may mean.

    Exit code 0: it has one for all; 1: not for all.
    """
    from ticketbridge.prove.coverage import coverage as counted
    from ticketbridge.prove.trial import content, trials

    shop = load_or_exit(folder).shop
    name, taken = _taken(shop, mapping_id, past)
    found = counted(
        (trials(file.name, content(file, shop), shop, name) for file in taken), shop, shop.mappings[name]
    )
    if as_json:
        click.echo(json.dumps(_coverage_json(found, name), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_coverage_lines(found, name)))
    sys.exit(1 if found.unmapped else 0)


@mapping.command()
@shop_option
@json_option
@mapping_option
@click.option("--against", metavar="NEW", required=True, help="Another mapping: its id, or a file anywhere.")
@click.option("--tickets", is_flag=True, help="Show the lines of lane tickets that differ.")
@folder_argument
def replay(
    folder: Path, past: Path, mapping_id: str | None, against: str, *, tickets: bool, as_json: bool
) -> None:
    """Show what would become of the past tickets below FOLDER if NEW went live: orders, lanes, tickets for lanes.

    Lanes are judged as if they all stood idle. Exit code 0: nothing would change; 1: something would.
    """
    from ticketbridge import __version__
    from ticketbridge.daemon.clock import now
    from ticketbridge.prove.replay import Side
    from ticketbridge.prove.replay import replay as compared

    shop = load_or_exit(folder).shop
    new = _other(folder, shop, against)
    name, taken = _taken(shop, mapping_id, past)
    found = compared(taken, Side(shop, name), new, now(), __version__)
    if as_json:
        click.echo(json.dumps(_replay_json(found), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_replay_lines(found, name, against, tickets=tickets)))
    sys.exit(1 if found.changed else 0)


@mapping.command()
@shop_option
@click.option(
    "--to", "number", type=click.IntRange(1), help="Another version than the one before, by its number."
)
@click.argument("mapping_id", metavar="ID")
def back(folder: Path, mapping_id: str, number: int | None) -> None:
    """Put the version of a mapping that was live before back into its file. A running bridge takes it by itself.

    Versions are kept when they go live, in state/mappings. What stands in the file now is kept, too.
    """
    from ticketbridge.cli.mapping_back import put_back

    sys.exit(put_back(folder, mapping_id, number))


def _other(folder: Path, shop: "Shop", against: str) -> Any:
    """The mapping to compare with: one of the shop's, or a file that is to count as one."""
    from ticketbridge.prove.replay import Side

    file = Path(against)
    if against in shop.mappings and not file.is_file():
        return Side(shop, against)
    if not file.is_file():
        _known(shop, against)
    return Side(load_or_exit(folder, trying=file).shop, file.stem)


def _known(shop: "Shop", name: str) -> None:
    if name not in shop.mappings:
        click.echo(f"There is no mapping {name}; there are {', '.join(sorted(shop.mappings))}.", err=True)
        sys.exit(2)


def _chosen(shop: "Shop", mapping_id: str | None, file: Path) -> str:
    from ticketbridge.prove.trial import mapping_for

    if mapping_id is not None:
        _known(shop, mapping_id)
        return mapping_id
    found = mapping_for(shop, file)
    if found is None:
        click.echo(f"No mapping reads files such as {file.name}. Name one with --mapping.", err=True)
        sys.exit(2)
    return found


def _taken(shop: "Shop", mapping_id: str | None, past: Path) -> tuple[str, list[Path]]:
    """The mapping, and the files below a folder that are its; without a name the first file's mapping."""
    from ticketbridge.prove.trial import mapping_for, order_files

    files = order_files(past)
    if not files:
        click.echo(f"No file below {past} holds orders.", err=True)
        sys.exit(2)
    name = _chosen(shop, mapping_id, files[0])
    return name, [file for file in files if mapping_id is not None or mapping_for(shop, file) == name]


def _told(findings: "Sequence[Finding]") -> list[str]:
    from ticketbridge.model.codes import printable, remedy, sentence, severity_of

    return [
        line
        for finding in findings
        for line in (
            f"  {severity_of(finding)} {finding.code} {printable(str(finding.place))}".rstrip(),
            f"    {sentence(finding)} {remedy(finding)}",
        )
    ]


def _trial_in_words(one: "Trial") -> str:
    from ticketbridge.model.codes import printable
    from ticketbridge.prove.trial import rows_of
    from ticketbridge.report.plain_table import table

    lines = [f"Order {printable(one.job_id or 'without a number')}", *_told(one.findings)]
    rows = [tuple(printable(cell) for cell in row) for row in rows_of(one)]
    if rows:
        text = table(("value", "is", "because of"), rows)
        lines += [f"  {line}" for line in text.splitlines()]
    return "\n".join(lines) + "\n"


def _trial_json(one: "Trial") -> dict[str, Any]:
    return {
        "order": one.order and one.order.model_dump(mode="json"),
        "origins": {name: origin.as_json() for name, origin in one.mapped.origins.items()}
        if one.mapped
        else {},
        "findings": [finding.as_json() for finding in one.findings],
    }


def _coverage_json(found: "Coverage", name: str) -> dict[str, Any]:
    return {
        "mapping": name,
        "files": found.files,
        "orders": found.orders,
        "mapped": found.mapped,
        "unmapped": [
            {
                "table": one.table,
                "value": one.value,
                "orders": one.orders,
                "example": one.example,
                "likely": one.likely,
            }
            for one in found.unmapped
        ],
        "others": found.others,
    }


def _coverage_lines(found: "Coverage", name: str) -> list[str]:
    from ticketbridge.model.codes import printable
    from ticketbridge.report.plain_table import table

    lines = [f"{_counted(found)} by the mapping {name}: {found.mapped} can be made."]
    if found.unmapped:
        rows = [
            (str(one.orders), one.table, printable(one.value), one.example, " or ".join(one.likely) or "-")
            for one in found.unmapped
        ]
        lines += ["", table(("orders", "table", "value without a row", "first in", "may mean"), rows)]
    if found.others:
        others = [(str(count), code) for code, count in sorted(found.others.items(), key=lambda one: -one[1])]
        lines += ["", table(("orders", "refused for another reason"), others)]
    return lines


def _counted(found: "Coverage | Replay") -> str:
    orders = "1 order" if found.orders == 1 else f"{found.orders} orders"
    return f"{orders} in {'1 file' if found.files == 1 else f'{found.files} files'}"


def _replay_json(found: "Replay") -> dict[str, Any]:
    def changes(some: Any) -> list[dict[str, str]]:
        return [{"at": one.at, "before": one.before, "after": one.after} for one in some]

    return {
        "files": found.files,
        "orders": found.orders,
        "changed": [
            {
                "file": one.file,
                "job_id": one.job_id,
                "values": changes(one.values),
                "lanes": changes(one.lanes),
                "tickets": [list(lines) for lines in one.tickets],
            }
            for one in found.changed
        ],
    }


def _replay_lines(found: "Replay", name: str, against: str, *, tickets: bool) -> list[str]:
    from ticketbridge.model.codes import printable

    lines = []
    for one in found.changed:
        lines.append(f"Order {printable(one.job_id)} ({one.file})")
        lines += [
            f"  {change.at}: {printable(change.before) or '-'}  ->  {printable(change.after) or '-'}"
            for change in (*one.values, *one.lanes)
        ]
        if one.tickets:
            lines.append(f"  lane tickets that differ: {len(one.tickets)}")
        if tickets:
            lines += [f"    {printable(line)}" for differing in one.tickets for line in differing]
    same = found.orders - len(found.changed)
    lines.append(
        f"{_counted(found)}, {name} against {against}: {same} stay as they are, {len(found.changed)} change."
    )
    return lines
