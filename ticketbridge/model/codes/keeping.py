"""Findings about what is kept: folders and store that disagree, archives, backups."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

CODES: Final[tuple[Code, ...]] = (
    Code(
        "keeping.file-gone",
        Severity.ERROR,
        "{name} should lie in {folder} as {claim_id}~{name}, and does not.",
        "Somebody moved it: put it back under that name. Where it is lost, take it out of the newest backup; "
        "its jobs are not harmed, but what goes back to the MIS lacks what stood in it.",
    ),
    Code(
        "keeping.file-changed",
        Severity.ERROR,
        "{path} is no longer what was taken in: its content has another hash.",
        "Put the file of the newest backup in its place. What is printed goes by what was accepted, not by this file; "
        "who wants another print drops a changed ticket anew.",
    ),
    Code(
        "keeping.file-unknown",
        Severity.ERROR,
        "{path} lies where the store knows of no such file.",
        "Somebody put it there, or the store is older than the folders. If it is an order, drop it again as {name}: "
        "what is a job already is not printed twice. Then take this file away.",
    ),
    Code(
        "keeping.history-differs",
        Severity.ERROR,
        "{queue_entry_id} is {state} in the store, which does not follow from its history.",
        "Look at the press: it decides what was printed. Somebody changed the store by hand, or it is damaged; "
        "restore the newest backup that verifies.",
    ),
    Code(
        "keeping.store-broken",
        Severity.ERROR,
        "The store is damaged: {said}.",
        "Stop the bridge, keep a copy of the folder state, and restore the newest backup that verifies.",
    ),
    Code(
        "keeping.archive-broken",
        Severity.ERROR,
        "{archive} is damaged: {said}.",
        "Put an undamaged copy of the archive in its place, out of a backup; the bridge itself does without it.",
    ),
    Code(
        "backup.no-store",
        Severity.ERROR,
        "{folder} has no store to copy: {database} is not there.",
        "Start the bridge once, or name the right folder with --shop.",
    ),
    Code(
        "backup.on-a-server",
        Severity.ERROR,
        "The store of {folder} is a PostgreSQL database, which is not copied here; no backup was made.",
        "Let the server's own tools copy the database, such as pg_dump, and then copy the shop folder; "
        "deploy/README.md tells more.",
    ),
    Code(
        "backup.broken",
        Severity.ERROR,
        "{file} is no whole backup: {said}. Nothing of it may run.",
        "Take another backup, or copy this one anew from where it was kept; restore it into a folder of its own.",
    ),
    Code(
        "backup.folder-taken",
        Severity.ERROR,
        "{folder} is there already and not empty; nothing was restored.",
        "Name a folder that is not there yet, or move that one out of the way.",
    ),
)
