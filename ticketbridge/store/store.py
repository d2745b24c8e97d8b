"""The store: short transactions on one writing connection, and a read-only view for people."""

import itertools
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine, text

from ticketbridge.store.hints import send_hint
from ticketbridge.store.leases import Leases, prove
from ticketbridge.store.opening import Address, migrate, open_engine
from ticketbridge.store.postgres import Role, open_postgres
from ticketbridge.store.transaction import Transaction


class Store:
    """All access to the database. One writer at a time; nothing slow happens inside a transaction.

    Args:
        engine: Of the writer, or of one who only looks.
        aside: Where several bridges share the store: for what must not wait for its turn to write.
        bridge_id: Where several bridges share the store: who we are, proved in each transaction.
        look: Where several bridges share the store: for what only reads, and so need not wait for a turn either.
    """

    def __init__(
        self,
        engine: Engine,
        aside: Engine | None = None,
        bridge_id: str | None = None,
        look: Engine | None = None,
    ) -> None:
        self._engine = engine
        self._aside = aside
        self._bridge_id = bridge_id
        self._look = None if look is None else Store(look)
        self._lock = threading.Lock()
        self._connection = engine.connect()
        self.commits = 0
        """Rises with each transaction that ended well, before anybody hears of what it changed."""

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        """All or nothing; durable when it ends without an exception.

        Raises:
            Fenced: Another bridge has taken over what this one served.
        """
        with self._lock, self._connection.begin():
            if self._bridge_id is not None:
                prove(self._connection, self._bridge_id)
            tx = Transaction(self._connection)
            yield tx
            if self._bridge_id is not None and tx.has_news:
                send_hint(self._connection, self._bridge_id)
        self.commits += 1

    @contextmanager
    def reading(self) -> Iterator[Transaction]:
        """The store as it is at one moment; nothing may be changed, and no other bridge's turn is waited for.

        What is read here may be overtaken before it is acted on, as after any transaction that has ended.
        """
        with self.transaction() if self._look is None else self._look.transaction() as tx:
            yield tx

    def prove(self) -> None:
        """See whether this bridge may still act for what it serves; a bridge alone always may.

        Raises:
            Fenced: Another bridge has taken over.
        """
        if self._bridge_id is not None:
            with self.transaction():
                pass

    def numbers(self) -> Iterator[int]:
        """Numbers for new jobs, rising; where several bridges take them, with gaps."""
        if self._aside is None:
            with self.transaction() as tx:
                return itertools.count(tx.last_number() + 1)
        return iter(self._next_number, 0)

    def close(self) -> None:
        """Let go of the database."""
        self._connection.close()
        self._engine.dispose()
        if self._aside is not None:
            self._aside.dispose()
        if self._look is not None:
            self._look.close()

    def _next_number(self) -> int:
        assert self._aside is not None  # noqa: S101  the caller has looked
        with self._aside.begin() as connection:
            return int(connection.execute(text("SELECT nextval('job_number')")).scalar_one())


def open_store(address: Address) -> Store:
    """The store of a bridge that has it for itself; tables are made or brought up to date.

    Raises:
        StoreIsNewer: A newer bridge has changed it.
        DriverMissing: It is a PostgreSQL database, and its library is not installed.
    """
    return Store(_migrated(address))


def open_shared_store(address: str, bridge_id: str) -> tuple[Store, Leases]:
    """The store of one of several bridges, and its leases; it must join before its first transaction.

    Raises:
        StoreIsNewer: A newer bridge has changed it.
        DriverMissing: The library for PostgreSQL is not installed.
    """
    writer = _migrated(address)
    aside, look = open_postgres(address, Role.ASIDE), open_postgres(address, Role.VIEWER)
    store = Store(writer, aside, bridge_id, look)
    return store, Leases(open_postgres(address, Role.ASIDE), bridge_id)


def open_view(address: Address) -> Store:
    """A read-only view, for commands beside the running bridge."""
    return Store(open_engine(address, read_only=True))


def _migrated(address: Address) -> Engine:
    engine = open_engine(address, read_only=False)
    try:
        migrate(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine
