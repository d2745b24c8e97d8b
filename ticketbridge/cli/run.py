"""``ticketbridge run``: the bridge itself."""

import os
import sys
from pathlib import Path

import click

from ticketbridge.cli.shop_option import shop_option

MOST_PORT = 65535


def _host_and_port(
    _context: click.Context, _option: click.Parameter, value: str | None
) -> tuple[str, int] | None:
    if value is None:
        return None
    host, _, port = value.rpartition(":")
    if not host or not port.isdecimal() or int(port) > MOST_PORT:
        raise click.BadParameter(f"{value} is not a host and a port, such as 10.1.0.5:8377")
    return host.strip("[]"), int(port)


@click.command()
@shop_option
@click.option("--stop-at-eof", is_flag=True, help="Also stop when standard input closes.")
@click.option(
    "--listen",
    metavar="HOST:PORT",
    callback=_host_and_port,
    help="Where this bridge listens for JMF, in the place of jmf.host and jmf.port in shop.yaml: for several bridges "
    "that share a shop.",
)
def run(folder: Path, *, stop_at_eof: bool, listen: tuple[str, int] | None) -> None:
    """Watch the hot folders of a shop and serve its presses, until told to stop.

    Only one bridge may run on a shop folder, unless its store is a PostgreSQL database. Stops in order
    on SIGTERM and SIGINT; after anything worse, start it again: it finishes what was left half done.

    Exit status: 0 stopped in order; 1 the shop folder has faults, each is printed with its place; 3 another
    bridge holds the folder, or a newer one has changed its store; 75 anything else, such as a full disk, which
    a later start may find mended.
    """
    from ticketbridge.config.load import ConfigRefused
    from ticketbridge.daemon.logs import Notices
    from ticketbridge.daemon.service import AlreadyRunning, NobodyMaySpeak, run_service
    from ticketbridge.model.codes import remedy, sentence
    from ticketbridge.spool.durable import PlaceNotReady
    from ticketbridge.store.leases import Fenced
    from ticketbridge.store.opening import StoreIsNewer
    from ticketbridge.store.postgres import DriverMissing

    try:
        run_service(folder, stop_at_eof=stop_at_eof, listen=listen)
    except ConfigRefused as refusal:
        for finding in refusal.findings:
            click.echo(f"{finding.place}: {sentence(finding)} {remedy(finding)}", err=True)
        sys.exit(1)
    except NobodyMaySpeak as error:
        click.echo(f"Not started: {error}.", err=True)
        sys.exit(1)
    except (AlreadyRunning, StoreIsNewer, DriverMissing) as error:
        click.echo(f"Not started: {error}.", err=True)
        sys.exit(3)
    except Fenced as error:
        click.echo(f"Stopped: {error}.", err=True)
        sys.exit(os.EX_TEMPFAIL)
    except PlaceNotReady as error:
        click.echo(f"Not started: {error}.", err=True)
        sys.exit(os.EX_TEMPFAIL)
    except Exception as error:
        Notices().broke("ended by a fault", error)
        sys.exit(os.EX_TEMPFAIL)
