"""Findings about the way to a press and back."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

CODES: Final[tuple[Code, ...]] = (
    Code(
        "route.no-lane",
        Severity.ERROR,
        "No lane can print item {part}.",
        "The reasons follow, lane by lane; change the order, or the shop.",
        101,
    ),
    Code(
        "job.at-press",
        Severity.ERROR,
        "{job_id} changed, but {queue_entry_id} of it is at the press already; what the press has is not replaced.",
        "Stop it at the press first, or send the change under a JobID of its own.",
        107,
    ),
    Code(
        "artwork.gone",
        Severity.ERROR,
        "The artwork of {queue_entry_id} is no longer at {path}, so it was held and not handed over.",
        "Put the same file back and resume the job, or drop the ticket again with the artwork that is meant.",
        200,
    ),
    Code(
        "artwork.changed",
        Severity.ERROR,
        "The artwork of {queue_entry_id} at {path} is another file than was accepted, so it was held.",
        "Put the accepted file back and resume the job, or drop the ticket again: that makes a revision of it.",
        200,
    ),
    Code(
        "lane.not-ready",
        Severity.WARNING,
        "The folder {folder} is not there, or its share is not mounted.",
        "Mount the share; the bridge goes on by itself. It never writes below an unmounted mount point.",
        8,
    ),
    Code(
        "share.hangs",
        Severity.WARNING,
        "The share of {share} does not answer: {reason}. What needs it waits, and everything else goes on.",
        "Look at its file server and at the network between. The bridge goes on by itself as soon as the share "
        "answers, which it tells as share.answers: nothing is lost, nothing goes twice, and no restart is needed.",
        100,
    ),
    Code(
        "press.unknown-job",
        Severity.WARNING,
        "{device_id} speaks of {job_id} / {job_part_id}, which was never given to it.",
        "Look at the press: somebody may have printed it by hand.",
        105,
    ),
    Code(
        "press.contradiction",
        Severity.WARNING,
        "{device_id} says that {queue_entry_id} is {said}, but it is {state} here. Nothing was changed.",
        "Look at the press and at the job's history.",
        114,
    ),
    Code(
        "press.amount-shrank",
        Severity.WARNING,
        "{device_id} counts {said} good pieces of {queue_entry_id}, fewer than the {known} it told before.",
        "Count the pieces; the higher number is kept.",
    ),
    Code(
        "press.refused",
        Severity.WARNING,
        "{device_id} does not take {queue_entry_id}: {reason}. The job is held.",
        "Look at the press, mend the cause, then resume the job: `ticketbridge jobs resume {queue_entry_id}`.",
        101,
    ),
    Code(
        "press.in-doubt",
        Severity.WARNING,
        "Nobody can tell whether {device_id} has the ticket of {queue_entry_id}: {reason}. Nothing is sent again.",
        "Look at the press's queue: where it is there, `ticketbridge jobs delivered {queue_entry_id}`; "
        "where it is not and was not printed, `ticketbridge jobs send-again {queue_entry_id}`.",
        2,
    ),
    Code(
        "return.not-configured",
        Severity.WARNING,
        "The ticket of {queue_entry_id} was to be returned to {url}, which is no address of its sender here.",
        "It lies in the folder returned of its source; add the address to signal_urls of the sender in shop.yaml.",
        120,
    ),
    Code(
        "press.unreadable",
        Severity.WARNING,
        "{device_id} wrote {name}, which cannot be read: {reason}",
        "The file is kept in the lane's folder followed.",
        3,
    ),
)
