"""``ticketbridge validate``: is this file a proper JDF or JMF?"""

import json
import sys
from pathlib import Path

import click

from ticketbridge.cli.shop_option import json_option


@click.command()
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True, dir_okay=False)
)
@json_option
def validate(files: tuple[Path, ...], *, as_json: bool) -> None:
    """Check JDF and JMF files by our schema and by the rules that a schema cannot say.

    Exit code 0: nothing to refuse in any file; 1: at least one would be refused. Warnings alone do not refuse.
    """
    from ticketbridge.jdf.validate import validate_document
    from ticketbridge.model.codes import refuses, remedy, sentence, severity_of
    from ticketbridge.model.shop import Limits
    from ticketbridge.spool import durable

    limits, refused, told = Limits(), False, []
    for file in files:
        data = durable.read(file.resolve(), limits.ticket_bytes)
        findings = validate_document(data, limits, str(file))
        refused = refused or refuses(findings)
        told.append(
            {
                "file": str(file),
                "refused": refuses(findings),
                "findings": [finding.as_json() for finding in findings],
            }
        )
        if as_json:
            continue
        click.echo(f"{'refused' if refuses(findings) else 'good   '} {file}")
        for finding in findings:
            click.echo(f"  {severity_of(finding)} {finding.code} {finding.place}")
            click.echo(f"    {sentence(finding)}")
            click.echo(f"    {remedy(finding)}")
    if as_json:
        click.echo(json.dumps(told, indent=2))
    sys.exit(1 if refused else 0)
