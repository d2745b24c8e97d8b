"""The store of one bridge: a SQLite file beside the hot folders, on a disk of this machine."""

from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import StaticPool

from ticketbridge.store.plain_json import json_text

BUSY_MS: Final = 5_000


def open_sqlite(database: Path, *, read_only: bool) -> Engine:
    """An engine with one connection. The writer begins at once (IMMEDIATE): a late upgrade would lose its snapshot.

    FULL keeps every commit through a power cut; WAL lets readers look on meanwhile.
    """
    address = f"sqlite:///file:{database}?mode=ro&uri=true" if read_only else f"sqlite:///{database}"
    engine = create_engine(
        address,
        poolclass=StaticPool,
        json_serializer=json_text,
        connect_args={"check_same_thread": False},
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        connection.isolation_level = None
        pragmas = [f"busy_timeout={BUSY_MS}", "foreign_keys=ON"]
        pragmas += ["query_only=ON"] if read_only else ["journal_mode=WAL", "synchronous=FULL"]
        for pragma in pragmas:
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN" if read_only else "BEGIN IMMEDIATE")

    return engine
