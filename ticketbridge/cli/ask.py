"""Asking the running bridge for something, and waiting for its answer."""

import getpass
import json
import secrets
import sys
import time
from pathlib import Path
from typing import Any

import click

WAIT_S = 15.0
LOOK_S = 0.05


def ask(folder: Path, wish: str, **args: Any) -> None:
    """Put a request into the bridge's box, wait for the answer, print it; exit code 1 where it says no.

    Where no bridge answers, the request stays in the box and is done when one starts.
    """
    from ticketbridge.model.codes import remedy, sentence, severity_of
    from ticketbridge.model.finding import Severity
    from ticketbridge.model.request import Reply, Request, Wish
    from ticketbridge.spool import durable
    from ticketbridge.spool.places import ShopPlaces

    places = ShopPlaces(folder.resolve())
    if not places.requests.is_dir():
        click.echo(
            f"No bridge has run on {folder} yet: start one with `ticketbridge run --shop {folder}`.", err=True
        )
        sys.exit(1)
    name = f"{time.monotonic_ns():020d}-{secrets.token_hex(4)}.json"
    request = Request(Wish(wish), getpass.getuser(), args)
    durable.write_new(places.requests / name, json.dumps(request.as_json()).encode())
    answer = places.replies / name
    until_s = time.monotonic() + WAIT_S
    while not answer.exists():
        if time.monotonic() > until_s:
            click.echo("No bridge has answered yet; what you asked for is done when one runs.", err=True)
            sys.exit(1)
        time.sleep(LOOK_S)
    reply = Reply.from_json(json.loads(answer.read_bytes()))
    durable.remove_note(answer)
    for finding in reply.findings:
        well = reply.done and severity_of(finding) is Severity.INFORMATION
        click.echo(f"{sentence(finding)} {'' if well else remedy(finding)}".rstrip())
    sys.exit(0 if reply.done else 1)
