"""The command line: one module per command. Heavy imports live inside the commands, so that --help is quick."""

import click

from ticketbridge import __version__
from ticketbridge.cli.backup import backup, restore
from ticketbridge.cli.bridges import bridges
from ticketbridge.cli.check import check
from ticketbridge.cli.demo import demo
from ticketbridge.cli.estimates import estimates
from ticketbridge.cli.explain import explain
from ticketbridge.cli.init import init
from ticketbridge.cli.jmf import jmf
from ticketbridge.cli.jobs import jobs
from ticketbridge.cli.lanes import lanes
from ticketbridge.cli.mapping import mapping
from ticketbridge.cli.password import password
from ticketbridge.cli.plan import plan
from ticketbridge.cli.press_sim import press_sim
from ticketbridge.cli.rolls import rolls
from ticketbridge.cli.run import run
from ticketbridge.cli.validate import validate
from ticketbridge.cli.verify import verify


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="ticketbridge")
def main() -> None:
    """Job tickets from the MIS to the lanes of a roll-to-roll press, and what became of them back to the MIS."""


for command in (
    init,
    check,
    run,
    demo,
    validate,
    explain,
    mapping,
    jobs,
    lanes,
    plan,
    estimates,
    rolls,
    verify,
    backup,
    restore,
    bridges,
    jmf,
    password,
    press_sim,
):
    main.add_command(command)
