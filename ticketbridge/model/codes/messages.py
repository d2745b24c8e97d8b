"""Answers about messages that were given up or that a subscriber is stuck at."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

CODES: Final[tuple[Code, ...]] = (
    Code(
        "message.sent-again",
        Severity.INFORMATION,
        "Message {number} of {channel} waits behind the newest one, with the ID and the bytes it had.",
        "`ticketbridge jmf log` shows when it has arrived.",
        0,
    ),
    Code(
        "message.skipped",
        Severity.INFORMATION,
        "Message {number} of {channel} is a dead letter now, and the next one goes out.",
        "`ticketbridge jmf resend {channel} {number}` sends it again, behind the newest.",
        0,
    ),
    Code(
        "message.no-dead-letter",
        Severity.ERROR,
        "{channel} has no dead letter {number}.",
        "`ticketbridge jmf log` lists the dead letters with their channels and numbers.",
        6,
    ),
    Code(
        "message.none-waits",
        Severity.ERROR,
        "Nothing waits to be sent to {channel}.",
        "`ticketbridge jmf log` lists the channels.",
        6,
    ),
    Code(
        "message.asked-before",
        Severity.INFORMATION,
        "That was done before the bridge restarted; it was not done again.",
        "Nothing more is to do.",
        0,
    ),
)
