"""``ticketbridge run``: the bridge itself."""

import os
import sys
from pathlib import Path

import click

from ticketbridge.cli.shop_option import shop_option


@click.command()
@shop_option
@click.option("--stop-at-eof", is_flag=True, help="Also stop when standard input closes.")
def run(folder: Path, *, stop_at_eof: bool) -> None:
    """Watch the hot folders of a shop and serve its presses, until told to stop.

    Only one bridge may run on a shop folder. Stops in order on SIGTERM and SIGINT; after anything worse, start
    it again: it finishes what was left half done.

    Exit status: 0 stopped in order; 1 the shop folder has faults, each is printed with its place; 3 another
    bridge holds the folder, or a newer one has changed its store; 75 anything else, such as a full disk, which
    a later start may find mended.
    """
    from ticketbridge.config.load import ConfigRefused
    from ticketbridge.daemon.logs import Notices
    from ticketbridge.daemon.service import AlreadyRunning, run_service
    from ticketbridge.model.codes import remedy, sentence
    from ticketbridge.spool.durable import PlaceNotReady
    from ticketbridge.store.leases import Fenced
    from ticketbridge.store.opening import StoreIsNewer
    from ticketbridge.store.postgres import DriverMissing

    try:
        run_service(folder, stop_at_eof=stop_at_eof)
    except ConfigRefused as refusal:
        for finding in refusal.findings:
            click.echo(f"{finding.place}: {sentence(finding)} {remedy(finding)}", err=True)
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
