"""The store: short transactions on one writing connection, and a read-only view for people."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine

from ticketbridge.store.opening import Address, migrate, open_engine
from ticketbridge.store.transaction import Transaction


class Store:
    """All access to the database. One writer at a time; nothing slow happens inside a transaction."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._lock = threading.Lock()
        self._connection = engine.connect()

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        """All or nothing; durable when it ends without an exception."""
        with self._lock, self._connection.begin():
            yield Transaction(self._connection)

    def close(self) -> None:
        """Let go of the database."""
        self._connection.close()
        self._engine.dispose()


def open_store(address: Address) -> Store:
    """The store of a running bridge; tables are made or brought up to date.

    Raises:
        StoreIsNewer: A newer bridge has changed it.
        DriverMissing: It is a PostgreSQL database, and its library is not installed.
    """
    engine = open_engine(address, read_only=False)
    try:
        migrate(engine)
    except BaseException:
        engine.dispose()
        raise
    return Store(engine)


def open_view(address: Address) -> Store:
    """A read-only view, for commands beside the running bridge."""
    return Store(open_engine(address, read_only=True))
