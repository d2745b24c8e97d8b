"""A copy of a SQLite store while the bridge writes into it: SQLite's own online backup."""

import sqlite3
from pathlib import Path

from ticketbridge.store.sqlite import BUSY_MS


def copy_store(database: Path, target: Path) -> None:
    """The store as it is at one moment, whole, in one new file; whoever writes meanwhile is not kept waiting.

    Raises:
        sqlite3.Error: It is no database, or this account must not read it, or its disk is full.
    """
    source = sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro", uri=True, timeout=BUSY_MS / 1000)
    try:
        copy = sqlite3.connect(target)
        try:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
        finally:
            copy.close()
    finally:
        source.close()
