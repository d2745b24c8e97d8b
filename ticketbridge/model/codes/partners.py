"""Findings about messages that come by HTTP, and about the packages that they come in."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

_E: Final = Severity.ERROR

CODES: Final[tuple[Code, ...]] = (
    Code(
        "package.broken",
        _E,
        "The package cannot be read: {reason}.",
        "Send it as multipart/related, the JMF as its first part.",
        3,
    ),
    Code(
        "package.too-large",
        _E,
        "The message has more than {limit} bytes.",
        "Put the artwork where both sides can open it and name it by its URL, or raise jmf.limits.package_bytes.",
        3,
    ),
    Code(
        "package.id-twice",
        _E,
        "Two parts of the package have the Content-ID {content_id}.",
        "Give each part an ID of its own.",
        3,
    ),
    Code(
        "package.part-missing",
        _E,
        "The package has no part {content_id}.",
        "Give the part that is meant this Content-ID, or correct the URL.",
        120,
    ),
    Code(
        "package.no-jmf",
        _E,
        "The message is no JMF.",
        "Post a JMF, or a package whose first part is one.",
        3,
    ),
    Code(
        "message.too-many",
        _E,
        "There are more than {limit} messages in one JMF.",
        "Send them one after the other.",
        6,
    ),
    Code(
        "message.unknown-device",
        _E,
        "There is no device {device_id} here.",
        "KnownDevices lists them; without a DeviceID the bridge itself is meant.",
        121,
    ),
    Code(
        "message.lacks",
        _E,
        "{kind} lacks {what}.",
        "Give it, and send the message again.",
        7,
    ),
    Code(
        "message.busy",
        _E,
        "The bridge cannot do it now.",
        "Send the same message again later; what was taken in meanwhile is not taken twice.",
        10,
    ),
    Code(
        "message.broke",
        _E,
        "The bridge failed while it worked on this message.",
        "Tell whoever looks after ticketbridge; its log shows the fault.",
        2,
    ),
    Code(
        "message.nothing-found",
        _E,
        "No entry fits what {kind} asks for.",
        "QueueStatus without a filter lists what there is.",
        108,
    ),
    Code(
        "ticket.url-refused",
        _E,
        "A ticket is not taken from {url}.",
        "Send it in the package by cid:, or let the administrator add its place to ticket_folders or ticket_urls.",
        120,
    ),
    Code(
        "ticket.url-unreachable",
        _E,
        "The ticket at {url} cannot be had: {reason}.",
        "Put it there, and send the message again.",
        120,
    ),
    Code(
        "queue.closed",
        _E,
        "The queue takes no entries.",
        "OpenQueue opens it.",
        112,
    ),
    Code(
        "queue.full",
        _E,
        "The queue is full.",
        "Submit it again when some have ended.",
        112,
    ),
    Code(
        "queue.entry-exists",
        _E,
        "{job_id}, part {part}, is in the queue as {queue_entry_id} with other content.",
        "Change it by ResubmitQueueEntry, or remove the entry first.",
        116,
    ),
    Code(
        "queue.other-job",
        _E,
        "The ticket is not for {queue_entry_id}, which is part {part} of {job_id}.",
        "Resubmit a ticket of the same JobID and JobPartID; submit another one as a new entry.",
        200,
    ),
    Code(
        "channel.refused",
        _E,
        "The subscription is not opened: {reason}.",
        "Correct it, or let the administrator allow it for this sender in shop.yaml.",
        111,
    ),
    Code(
        "channel.unknown",
        _E,
        "There is no such channel.",
        "KnownSubscriptions lists them.",
        6,
    ),
    Code(
        "channel.opened",
        Severity.INFORMATION,
        "{kind} is signalled to {url}.",
        "StopPersistentChannel ends it.",
        0,
    ),
    Code(
        "channel.closed",
        Severity.INFORMATION,
        "Channels closed: {count}.",
        "Nothing more is to do.",
        0,
    ),
)
