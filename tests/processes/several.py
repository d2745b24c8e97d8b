"""Several bridges on one shop folder and a database of their own: how they are started, and stopped when it matters."""

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.databases import own_server
from tests.processes.programs import wait_until
from tests.processes.stream import House, new_house, running

LEASE_S = 4.0
SHORT_LEASES = f"""
from ticketbridge.store import leases
leases.LASTS_S = {LEASE_S}
from ticketbridge.daemon import lease_loop
lease_loop.BEAT_S = lease_loop.MARGIN_S = 0.5
"""
RUN = """
from ticketbridge.cli import main
main()
"""


class Database:
    """A PostgreSQL server of our own, which is stopped and started again."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._running = contextlib.ExitStack()
        self.address = ""
        """The same each time; empty before the first start."""

    def start(self) -> None:
        server = self._running.enter_context(own_server(self._folder))
        self.address = str(server.get_uri()).replace(":@", "@")

    def stop(self) -> None:
        self._running.close()


@contextlib.contextmanager
def several(folder: Path, data: Path, count: int, doctored: str = "") -> Iterator[tuple[House, Database]]:
    """A house with so many bridges, all running and listening.

    Args:
        folder: Empty; for the house.
        data: Empty; for the database.
        count: How many bridges.
        doctored: What is done to a bridge before it starts.
    """
    database = Database(data)
    database.start()
    try:
        command = [sys.executable, "-c", SHORT_LEASES + doctored + RUN]
        store = f"store: {database.address}"
        with running(new_house(folder, bridges=[command] * count, by_message=True, store=store)) as house:
            yield house, database
    finally:
        database.stop()


def until_all_listen(house: House) -> None:
    """They are ready for work, and to be stopped in order."""

    def all_listen() -> bool:
        start_what_ended(house)
        return house.listens()

    wait_until(all_listen, "all bridges listen")


def start_what_ended(house: House) -> None:
    """As a service manager does with a bridge that ended because another has taken over, or the database was away."""
    for bridge in house.bridges:
        if bridge.ended:
            assert bridge.process is not None
            assert bridge.process.returncode == os.EX_TEMPFAIL, bridge.log.read_text()[-2000:]
            bridge.start()
