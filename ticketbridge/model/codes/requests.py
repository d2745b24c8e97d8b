"""Answers to what people ask by command."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

_COMMANDS: Final = (
    Code(
        "command.no-jmf",
        Severity.ERROR,
        "The file ends in .jmf, but is no JMF message.",
        "Give a ticket the ending .jdf and drop it again.",
        3,
    ),
    Code(
        "command.not-done",
        Severity.ERROR,
        "{kind} is not done by folder.",
        "HoldQueueEntry, ResumeQueueEntry, RemoveQueueEntry and SetQueueEntryPriority are.",
        5,
    ),
    Code(
        "command.names-nothing",
        Severity.ERROR,
        "{kind} names no job.",
        "Name it by QueueEntryDef, or by JobID and perhaps JobPartID in the QueueFilter.",
        105,
    ),
    Code(
        "command.no-priority",
        Severity.ERROR,
        "{kind} does not say which priority.",
        "Give it QueueEntryPriParams with Priority, 0 to 100.",
        7,
    ),
    Code(
        "command.filter-not-read",
        Severity.ERROR,
        "The QueueFilter of {kind} narrows the choice by {what}, which is not read here; nothing was done.",
        "Name the jobs by QueueEntryDef, or by JobID and JobPartID.",
        6,
    ),
)

CODES: Final[tuple[Code, ...]] = (
    *_COMMANDS,
    Code(
        "request.done",
        Severity.INFORMATION,
        "{queue_entry_id} is {state} now.",
        "Nothing more is to do; `ticketbridge jobs` shows it.",
        0,
    ),
    Code(
        "request.unknown-job",
        Severity.ERROR,
        "There is no job {queue_entry_id}.",
        "`ticketbridge jobs` lists them; the first column is the name to use.",
        105,
    ),
    Code(
        "request.at-press",
        Severity.ERROR,
        "{queue_entry_id} is at {device_id} already, and only the press can change that.",
        "Do it at the press; the bridge follows what the press says.",
        107,
    ),
    Code(
        "request.not-now",
        Severity.ERROR,
        "{queue_entry_id} is {state}, so it cannot be asked to {wish}.",
        "`ticketbridge jobs {queue_entry_id}` shows what happened to it.",
        114,
    ),
    Code(
        "request.nothing-refused",
        Severity.INFORMATION,
        "No refused ticket fits {names}.",
        "Look into the folder refused of the source; tickets that were tried again are not there any more.",
        108,
    ),
    Code(
        "request.tried-again",
        Severity.INFORMATION,
        "{name}: before {before}; now {after}.",
        "A ticket that is refused again lies in refused with its new findings beside it.",
        0,
    ),
    Code(
        "request.dropped-again",
        Severity.INFORMATION,
        "{name} was put back into {folder}, as another bridge serves that folder and takes it in.",
        "That bridge goes by the shop's files as they were when it started: restart it after a change.",
        0,
    ),
    Code(
        "request.drop-taken",
        Severity.ERROR,
        "{name} was not tried again: another file of that name lies in {folder}.",
        "Wait until the bridge that serves the folder has taken that one, then ask again.",
        2,
    ),
    Code(
        "request.shop-faulty",
        Severity.ERROR,
        "The shop folder has faults now, so nothing was tried: {first}",
        "`ticketbridge check` shows all of them; mend them and ask again.",
        2,
    ),
    Code(
        "request.restart-needed",
        Severity.ERROR,
        "The shop's sources or lanes have changed, and a running bridge cannot take that over.",
        "Restart the bridge, then ask again.",
        11,
    ),
    Code(
        "request.unreadable",
        Severity.ERROR,
        "The request cannot be read: {reason}.",
        "Ask with the same version of ticketbridge that runs as the bridge.",
        6,
    ),
)
