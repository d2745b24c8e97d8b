"""``ticketbridge jmf``: send a message by hand, listen for messages, see the last exchanges with each partner."""

import sys
from pathlib import Path
from typing import IO, TYPE_CHECKING

import click

from ticketbridge.cli.ask import ask
from ticketbridge.cli.shop_option import shop_option
from ticketbridge.cli.view import viewed
from ticketbridge.report.plain_table import table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ticketbridge.spool.exchanges import Kept
    from ticketbridge.store.records import DeadLetter


@click.group()
def jmf() -> None:
    """Send a JMF message by hand, listen for messages, or see what was exchanged with whom."""


@jmf.command()
@click.argument("url")
@click.argument("message", type=click.File("rb"))
@click.option(
    "--patience", "patience_s", default=10.0, show_default=True, metavar="SECONDS", help="Longest wait."
)
def send(url: str, message: IO[bytes], patience_s: float) -> None:
    """Post MESSAGE, a JMF file or - for standard input, to URL as it is, and print the answer.

    Exit status: 0 where the other side received it; 1 where not, with how the exchange ended.
    """
    from ticketbridge.jdf.post import Poster
    from ticketbridge.jdf.writing import as_text
    from ticketbridge.model.exchange import Outcome

    poster = Poster(url, patience_s=patience_s)
    answer = poster.post(message.read())
    poster.close()
    if answer.jmf is not None:
        click.echo(printable(as_text(answer.jmf)).rstrip())
    click.echo(f"{answer.outcome}: {printable(answer.reason)}", err=True)
    sys.exit(0 if answer.outcome is Outcome.RECEIVED else 1)


@jmf.command()
@click.option("--port", default=8010, show_default=True, help="0 takes any that is free.")
@click.option("--count", type=int, metavar="N", help="End after N documents.")
def listen(port: int, count: int | None) -> None:
    """Receive JMF on this machine, print each document, answer each of its messages with ReturnCode 0.

    For trying out what a partner sends. Listens on 127.0.0.1 only; stop it with Ctrl-C.
    """
    from ticketbridge.daemon.listening import listen_for_people

    listen_for_people(
        port,
        count,
        started=lambda url: click.echo(f"Listening on {url}"),
        show=lambda text: click.echo(printable(text)),
    )


@jmf.command()
@shop_option
@click.argument("partner", required=False)
@click.option("--last", default=20, show_default=True, help="So many exchanges.")
@click.option("--bodies", is_flag=True, help="With both bodies.")
def log(folder: Path, partner: str | None, *, last: int, bodies: bool) -> None:
    """See the last exchanges with PARTNER, or with all, and the dead letters.

    \b
    ticketbridge jmf log --shop DIR                      everything lately
    ticketbridge jmf log --shop DIR mis.http --bodies    one partner, with what was said
    """  # noqa: D301  click wants the very character that \b stands for
    from ticketbridge.spool.exchanges import read_exchanges
    from ticketbridge.spool.places import ShopPlaces

    with viewed(folder) as tx:
        dead = [one for one in tx.dead_letters() if partner in (None, one.message.channel)]
        waiting = {name: row for name, row in tx.channels().items() if partner in (None, name)}
    kept = read_exchanges(ShopPlaces(folder.resolve()).exchanges, partner)[-last:] if last > 0 else []
    click.echo(_exchanges(kept, bodies=bodies))
    click.echo()
    rows = [(name, str(promised), str(promised - sent)) for name, (promised, sent) in sorted(waiting.items())]
    click.echo(table(("Channel", "Messages", "Waiting"), rows) if rows else "No channel yet.")
    if dead:
        click.echo(
            f"\nDead letters; `ticketbridge jmf resend CHANNEL NUMBER` sends one again.\n{_dead(dead)}"
        )


@jmf.command()
@shop_option
@click.argument("channel")
@click.argument("number", type=int)
def resend(folder: Path, channel: str, number: int) -> None:
    """Send dead letter NUMBER of CHANNEL again, behind the newest message, with the ID and the bytes it had."""
    ask(folder, "message-resend", channel=channel, number=number)


@jmf.command()
@shop_option
@click.argument("channel")
def skip(folder: Path, channel: str) -> None:
    """Make the message that CHANNEL is stuck at a dead letter, so that the next one goes out."""
    ask(folder, "message-skip", channel=channel)


def printable(text: str) -> str:
    """Text from outside made safe for a terminal, its lines kept."""
    from ticketbridge.model.codes import printable as printable_line

    return "\n".join(printable_line(line) for line in text.splitlines())


def _exchanges(kept: "Sequence[Kept]", *, bodies: bool) -> str:
    if not kept:
        return "No exchange is kept."
    if not bodies:
        headings = ("When (UTC)", "Partner", "", "HTTP", "Outcome", "Says", "Address")
        return table(
            headings,
            [
                (
                    one.at[:23],
                    one.exchange.partner,
                    one.exchange.direction,
                    str(one.exchange.http_status or ""),
                    one.exchange.outcome,
                    _messages_in(one.exchange.body),
                    one.exchange.address,
                )
                for one in kept
            ],
        )
    return "\n\n".join(
        f"{one.at} {one.exchange.partner} {one.exchange.direction}: {one.exchange.outcome}\n"
        f"--> {printable(one.exchange.body)}\n<-- HTTP {one.exchange.http_status or 'none'} {printable(one.exchange.answer)}"
        for one in kept
    )


def _messages_in(body: str) -> str:
    """The types of the messages in a document, as far as a look at its text tells."""
    import re

    kinds = re.findall(r"<(?:\w+:)?(Signal|Command|Query|Response|Acknowledge)\b[^>]*?\bType=\"(\w+)\"", body)
    return ", ".join(dict.fromkeys(f"{family} {kind}" for family, kind in kinds))


def _dead(dead: "Sequence[DeadLetter]") -> str:
    return table(
        ("Channel", "Number", "Made (UTC)", "Why"),
        [
            (
                one.message.channel,
                str(one.message.seq),
                one.message.at.strftime("%Y-%m-%d %H:%M"),
                printable(one.reason),
            )
            for one in dead
        ],
    )
