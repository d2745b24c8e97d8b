"""Opening the store: which database it is, migrations, and the refusal of a store that a newer bridge has changed."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, delete

from ticketbridge.store.postgres import Role, open_postgres
from ticketbridge.store.sqlite import open_sqlite
from ticketbridge.store.tables import BRIDGE

Address = Path | str
"""Where the store is: the file of a SQLite store, or the address of a PostgreSQL database."""


class StoreIsNewer(Exception):
    """The store was changed by a newer bridge; this one must not touch it."""


def open_engine(address: Address, *, read_only: bool) -> Engine:
    """The engine for either kind of store."""
    if isinstance(address, Path):
        return open_sqlite(address, read_only=read_only)
    return open_postgres(address, Role.VIEWER if read_only else Role.WRITER)


def migrate(engine: Engine) -> None:
    """Bring the tables to this bridge's version.

    Raises:
        StoreIsNewer: The store carries a revision that this bridge does not know.
    """
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    known = {revision.revision for revision in ScriptDirectory.from_config(config).walk_revisions()}
    with engine.begin() as connection:
        current = MigrationContext.configure(connection).get_current_revision()
        if current is not None and current not in known:
            raise StoreIsNewer(
                f"the store has tables of version {current}, this bridge knows up to {max(known)}; "
                "install the newer ticketbridge again, or restore a backup made with this one"
            )
        if current == max(known):
            return  # the usual start, kept quick
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if current is not None:  # an older bridge that still runs may not write into newer tables
            connection.execute(delete(BRIDGE))
