"""Findings about files: dropped ones and the artwork they name."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

CODES: Final[tuple[Code, ...]] = (
    Code(
        "intake.unfinished",
        Severity.ERROR,
        "The file's end is missing, and nothing more came.",
        "Send it again whole; best under a name that ends in .tmp, renamed when it is complete.",
        3,
    ),
    Code(
        "intake.grew",
        Severity.WARNING,
        "{name} was still written to after it was taken in: {more_bytes} bytes came too late and were not read.",
        "Compare it with what was meant; drop what is missing as a file of its own. Let the writer use a name that ends in .tmp and rename it when it is complete.",
        0,
    ),
    Code(
        "intake.unreadable",
        Severity.ERROR,
        "The bridge may not read the file: {reason}.",
        "Drop it again with rights that let the bridge's account or group read it.",
        3,
    ),
    Code(
        "intake.set-aside",
        Severity.ERROR,
        "The bridge ended {attempts} times while it worked on this file, so the file was set aside.",
        "Tell whoever looks after ticketbridge, and keep the file: it shows a fault of the bridge.",
        2,
    ),
    Code(
        "intake.overtaken",
        Severity.ERROR,
        "While this ticket waited for its artwork, {queue_entry_id} was made of a newer one of the same name.",
        "Drop it again if it is meant after all.",
        116,
    ),
    Code(
        "intake.unknown-name",
        Severity.WARNING,
        "{name} in {folder} is neither a ticket, nor artwork, nor known litter; it is left alone.",
        "Give a ticket the ending .jdf, or the ending of what this source's mapping reads; move anything else away.",
    ),
    Code(
        "artwork.none",
        Severity.ERROR,
        "Item {part} names no artwork, so there is nothing to print.",
        "Name the file: in JDF by an ArtDeliveryIntent with a RunList whose FileSpec has its URL, in CSV in the "
        "column that holds artwork_url.",
        7,
    ),
    Code(
        "artwork.missing",
        Severity.ERROR,
        "The artwork {url} is not there; it was looked for at {path}.",
        "Put the artwork there first, then drop the ticket again.",
        120,
    ),
    Code(
        "artwork.outside",
        Severity.ERROR,
        "The artwork {url} lies outside the folders that this source may use.",
        "Put it below the drop folder, or have the administrator add its folder to artwork_roots.",
        120,
    ),
    Code(
        "artwork.scheme",
        Severity.ERROR,
        "The artwork {url} is not named by a relative reference or a file URL of this machine, and no row of "
        "artwork_paths fits it.",
        "Name it relative to the ticket, with forward slashes, or as file:///..., or have the administrator add "
        "a row for its share, drive or address to artwork_paths.",
        120,
    ),
    Code(
        "artwork.unreadable",
        Severity.ERROR,
        "The artwork {url} cannot be read: {reason}.",
        "Give the bridge's account the right to read it, then drop the ticket again.",
        120,
    ),
)
