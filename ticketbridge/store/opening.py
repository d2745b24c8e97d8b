"""Opening the store: pragmas, migrations, and the refusal of a store that a newer bridge has changed."""

from pathlib import Path
from typing import Any, Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import StaticPool

BUSY_MS: Final = 5_000


class StoreIsNewer(Exception):
    """The store was changed by a newer bridge; this one must not touch it."""


def open_engine(database: Path, *, read_only: bool) -> Engine:
    """An engine with one connection. The writer begins at once (IMMEDIATE): a late upgrade would lose its snapshot.

    FULL keeps every commit through a power cut; WAL lets readers look on meanwhile.
    """
    address = f"sqlite:///file:{database}?mode=ro&uri=true" if read_only else f"sqlite:///{database}"
    engine = create_engine(address, poolclass=StaticPool, connect_args={"check_same_thread": False})

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
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
