"""Hints between bridges (LISTEN and NOTIFY): there is something new. They shorten the wait; the timed look ends it.

A hint reaches only those who listen at that moment, so nobody may rely on one.
"""

from collections.abc import Iterator
from typing import Final

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from ticketbridge.store.postgres import Role, open_postgres

_CHANNEL: Final = "ticketbridge"
_SEND: Final = text(f"SELECT pg_notify('{_CHANNEL}', :bridge_id)")


class HintsLost(Exception):
    """Nobody hears hints now."""


def send_hint(connection: Connection, bridge_id: str) -> None:
    """Tell the other bridges, as soon as this transaction is committed."""
    connection.execute(_SEND, {"bridge_id": bridge_id})


def listen(address: str, bridge_id: str, look_s: float) -> Iterator[None]:
    """Yields when a hint of another bridge has come, and where none comes ``look_s`` seconds after the last one.

    Raises:
        HintsLost: The connection is lost, with all hints meanwhile.
    """
    from psycopg import Error

    engine = open_postgres(address, Role.ASIDE)
    try:
        with engine.connect() as connection:
            driver = connection.connection.driver_connection
            assert driver is not None  # noqa: S101  it is connected
            try:
                driver.execute(f"LISTEN {_CHANNEL}")
                while True:
                    yield
                    heard = list(driver.notifies(timeout=look_s, stop_after=1))
                    while heard and all(hint.payload == bridge_id for hint in heard):  # our own
                        heard = list(driver.notifies(timeout=look_s, stop_after=1))
            except Error as error:
                connection.invalidate()  # there is nothing left of it to be put in order
                raise HintsLost(str(error)) from error
    except DBAPIError as error:
        raise HintsLost(str(error)) from error
    finally:
        engine.dispose()
