"""The cases beside the mappings of a shop: found, run, told, and their expectations written where asked."""

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ticketbridge.config.files import MAPPINGS_FOLDER

if TYPE_CHECKING:
    from ticketbridge.config.load import LoadedShop
    from ticketbridge.prove.trial import Trial


def run_cases(loaded: "LoadedShop", ids: Sequence[str], *, write: bool) -> int:
    """Run every case of these mappings and tell of each.

    Returns:
        Exit code: 0 where all are as expected, 1 where not, or where there is none.
    """
    from ticketbridge.prove.trial import CASES, content, order_files, trials

    counts = {"good": 0, "bad": 0, "written": 0, "without": 0}
    for name in ids:
        folder = loaded.folder / MAPPINGS_FOLDER / f"{name}{CASES}"
        for file in order_files(folder) if folder.is_dir() else ():
            found = trials(file.name, content(file, loaded.shop), loaded.shop, name)
            counts[_run(file, f"{folder.name}/{file.name}", found, write=write)] += 1
    if not any(counts.values()):
        click.echo(
            "There is no case. Lay a file of the MIS into mappings/ID.cases and ask again with --write."
        )
        return 1
    said = [f"{counts['good']} as expected", f"{counts['bad']} not"]
    said += [f"{counts['written']} expectations written: look them through"] if counts["written"] else []
    said += [f"{counts['without']} without an expectation: add --write"] if counts["without"] else []
    click.echo(", ".join(said) + ".")
    return 0 if counts["good"] and not counts["bad"] and not counts["without"] else 1


def _run(file: Path, name: str, found: "Sequence[Trial]", *, write: bool) -> str:
    from ticketbridge.config.document import read_document
    from ticketbridge.model.codes import printable, remedy, sentence
    from ticketbridge.prove.cases import EXPECTED, differences, expectation
    from ticketbridge.spool import durable

    expected = file.with_name(file.name + EXPECTED)
    if not expected.exists():
        if not write:
            click.echo(f"without  {name}")
            return "without"
        durable.write_new(expected, _as_yaml(expectation(found)))
        click.echo(f"written  {name}{EXPECTED}")
        return "written"
    document, faults = read_document(expected)
    told = [f"{finding.place}: {sentence(finding)} {remedy(finding)}" for finding in faults]
    told += [str(difference) for difference in differences(document.data, found)] if document else []
    click.echo(f"{'not so   ' if told else 'good     '}{name}")
    for line in told:
        click.echo(f"    {printable(line)}")
    return "bad" if told else "good"


def _as_yaml(data: object) -> bytes:
    from ruamel.yaml import YAML

    text = io.StringIO()
    yaml = YAML(typ="safe", pure=True)
    yaml.default_flow_style = False
    yaml.allow_unicode = True
    yaml.sort_base_mapping_type_on_output = False  # type: ignore[assignment]
    yaml.dump(data, text)
    head = "# What ought to come of the file beside this one. Values that are left out are not compared.\n"
    return (head + text.getvalue()).encode()
