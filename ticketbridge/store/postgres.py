"""The store of several bridges: one PostgreSQL database, by libpq's own ways to reach it and to prove who asks.

**One writer at a time, as with SQLite.** Each writing transaction first takes one advisory lock, which goes with
it. So everything that is said of a transaction holds on both databases: nobody else's write comes between its
reads and its own, messages of a subscriber become visible in the order of their numbers, and no two transactions
wait for one another in a ring. A ticket keeps the lock for some milliseconds; presses are slower than that.
Who only reads takes no turn, and sees the store as it was at one moment, as on SQLite.

A bridge that stands still inside a transaction, with its lock, is cut off by the server.
"""

from enum import Enum
from typing import Any, Final

from sqlalchemy import Connection, Engine, ExceptionContext, String, create_engine, event, make_url
from sqlalchemy.exc import OperationalError
from sqlalchemy.ext.compiler import compiles

from ticketbridge.store.plain_json import json_text

IDLE_MS: Final = 10_000
"""The server ends a session that does nothing for so long inside a transaction."""
IDLE_STATE: Final = "25P03"
"""What the server then says (SQLSTATE idle_in_transaction_session_timeout)."""
WRITERS_LOCK: Final = 0x7469636B6574
"""The advisory lock of those who write; any number does that no other program uses in this database."""

_REACH: Final[dict[str, str | int]] = {
    "application_name": "ticketbridge",
    "connect_timeout": 5,
    # A connection whose other end has gone without a word is noticed within ten seconds or so.
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "tcp_user_timeout": 10_000,
}
_SESSION: Final[dict[str, str | int]] = {
    "idle_in_transaction_session_timeout": IDLE_MS,
    "lock_timeout": 2 * IDLE_MS,
    "statement_timeout": 3 * IDLE_MS,
    "TimeZone": "UTC",
}


class Role(Enum):
    """What a connection is for."""

    WRITER = "takes its turn before it writes"
    ASIDE = "leases and numbers: single statements that must not wait for anybody's turn"
    VIEWER = "only reads, in each transaction what was there when it began"


_ISOLATION: Final = {
    Role.WRITER: "READ COMMITTED",  # its snapshot is that of each statement, so taken after its turn has come
    Role.ASIDE: "AUTOCOMMIT",
    Role.VIEWER: "REPEATABLE READ",
}


class DriverMissing(Exception):
    """The library that speaks to PostgreSQL is not installed."""


@compiles(String, "postgresql")
def _without_a_limit(_type: String, _compiler: Any, **_named: Any) -> str:
    """SQLite keeps text of any length. A ticket must not fail in one database that passes in the other."""
    return "TEXT"


def open_postgres(address: str, role: Role) -> Engine:
    """An engine for one database, such as ``postgresql://bridge@db.example/harbourlight``.

    Raises:
        DriverMissing: psycopg is not installed.
    """
    session = _SESSION | ({"default_transaction_read_only": "on"} if role is Role.VIEWER else {})
    options = " ".join(f"-c {name}={value}" for name, value in session.items())
    try:
        engine = create_engine(
            make_url(address).set(drivername="postgresql+psycopg"),
            pool_size=1,
            isolation_level=_ISOLATION[role],
            json_serializer=json_text,
            connect_args={**_REACH, "options": options},
        )
    except ImportError as error:
        raise DriverMissing(
            "the store is a PostgreSQL database and psycopg is not installed; install ticketbridge[postgres]"
        ) from error
    event.listen(engine, "handle_error", _cut_off)
    if role is Role.WRITER:
        event.listen(engine, "connect", _keep_every_commit)
        event.listen(engine, "begin", _take_turn)
    return engine


def _cut_off(context: ExceptionContext) -> None:
    """A session that the server ended for its idleness is gone like one of a server that was stopped.

    The driver counts that among faults of its own, and nobody would take it for one of the world.

    Raises:
        OperationalError: In the place of what the driver raised.
    """
    error = context.original_exception
    if getattr(error, "sqlstate", None) == IDLE_STATE:
        context.is_disconnect = True
        raise OperationalError(context.statement, context.parameters, error, connection_invalidated=True)


def _keep_every_commit(connection: Any, _record: Any) -> None:
    """A server may be set up to answer a commit before it is on the disk; not to us."""
    connection.execute(
        "SELECT set_config('synchronous_commit', 'on', false)"
        " WHERE current_setting('synchronous_commit') = 'off'"
    )
    connection.commit()


def _take_turn(connection: Connection) -> None:
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")
