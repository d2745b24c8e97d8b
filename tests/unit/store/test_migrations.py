"""The migrations make exactly the tables that the code uses."""

from pathlib import Path

from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from ticketbridge.store.opening import migrate, open_engine
from ticketbridge.store.tables import METADATA


def test_the_migrated_tables_are_the_tables_of_the_code(tmp_path: Path) -> None:
    engine = open_engine(tmp_path / "bridge.sqlite", read_only=False)
    migrate(engine)

    with engine.begin() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        difference = compare_metadata(context, METADATA)

    assert difference == []
    engine.dispose()
