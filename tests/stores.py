"""Which store the shops of the tests have: a SQLite file each or, with ``--store postgres``, a database each.

On PostgreSQL a bridge joins as in a shop with several, under a new name at each start, so that each of its
transactions is proved and each number of a job is taken from the sequence.
"""

import functools
import itertools
import tempfile
from pathlib import Path
from typing import Final, Protocol

from tests.databases import Server
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.opening import Address
from ticketbridge.store.store import Store, open_shared_store, open_store


class Stores(Protocol):
    """Gives shops their stores."""

    def address(self, shop: Path) -> Address:
        """Where the store of that shop folder is; it has its tables, and is empty when first asked for."""

    def settings(self, shop: Path, /) -> str:
        """The lines that name the store in the shop's settings."""

    def open(self, shop: Path) -> Store:
        """The store of that shop folder, for a bridge that starts now."""

    def let_go(self) -> None:
        """The test is over."""


class Files:
    """A file in each shop's state folder, which goes with it."""

    def address(self, shop: Path) -> Address:
        database = ShopPlaces(shop).database
        if not database.exists():
            database.write_bytes(_empty_file())
        return database

    def settings(self, _shop: Path, /) -> str:
        return ""

    def open(self, shop: Path) -> Store:
        return open_store(self.address(shop))

    def let_go(self) -> None:
        pass


FILES: Final = Files()


class Databases:
    """A database for each shop folder, copied from one that has the tables and nothing in them."""

    def __init__(self, server: Server) -> None:
        self._server = server
        self._template = server.new_database()
        open_store(self._template).close()
        self._made: dict[Path, str] = {}
        self._opened: list[Store] = []
        self._starts = itertools.count(1)

    def address(self, shop: Path) -> str:
        if shop not in self._made:
            self._made[shop] = self._server.new_database(like=self._template)
        return self._made[shop]

    def settings(self, shop: Path, /) -> str:
        return f"store: {self.address(shop)}\n"

    def open(self, shop: Path) -> Store:
        store, leases = open_shared_store(self.address(shop), f"bench-{next(self._starts)}")
        leases.join("bench", 1, "test")
        leases.close()
        self._opened.append(store)
        return store

    def let_go(self) -> None:
        for store in self._opened:
            store.close()
        for address in self._made.values():
            self._server.drop(address)
        self._opened.clear()
        self._made.clear()


@functools.cache
def _empty_file() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "store"
        open_store(database).close()
        return database.read_bytes()


class _Chosen:
    """What this run of the tests goes by; files, unless somebody says otherwise."""

    stores: Stores = FILES


def choose(stores: Stores) -> None:
    """Give shops these from now on."""
    _Chosen.stores = stores


def chosen() -> Stores:
    """Who gives the shops their stores."""
    return _Chosen.stores
