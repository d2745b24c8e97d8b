"""The migrations make exactly the tables that the code uses, and keep what older ones held."""

from pathlib import Path

from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Engine, text

from tests.unit.made import NOW
from ticketbridge.model.job import as_text
from ticketbridge.model.stock import StockRoll, Whereabouts
from ticketbridge.model.substrate import Roll
from ticketbridge.store import opening
from ticketbridge.store.opening import migrate, open_engine
from ticketbridge.store.store import open_store
from ticketbridge.store.tables import METADATA


def test_the_migrated_tables_are_the_tables_of_the_code(tmp_path: Path) -> None:
    engine = open_engine(tmp_path / "bridge.sqlite", read_only=False)
    migrate(engine)

    assert differences(engine) == []
    engine.dispose()


def differences(engine: Engine) -> list[object]:
    with engine.begin() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return list(compare_metadata(context, METADATA))


def store_of_version(database: Path, revision: str) -> Engine:
    """A store as the bridge of that revision left it."""
    engine = open_engine(database, read_only=False)
    config = Config()
    config.set_main_option("script_location", str(Path(opening.__file__).parent / "migrations"))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    return engine


def test_the_rolls_on_the_lanes_of_an_older_store_stay_there_and_rolls_of_one_lot_are_told_apart(
    tmp_path: Path,
) -> None:
    engine = store_of_version(tmp_path / "bridge.sqlite", "0001")
    with engine.begin() as connection:
        for device_id, lot, left_m in (("P1-A", "L1", 12.5), ("P1-B", "L1", 40.0), ("P2-W", "L2", 0.0)):
            connection.execute(
                text("INSERT INTO roll VALUES (:device, 'BAN510', :lot, 1600, :left, :at)"),
                {"device": device_id, "lot": lot, "left": left_m, "at": as_text(NOW)},
            )
    engine.dispose()

    store = open_store(tmp_path / "bridge.sqlite")

    def on_lane(device_id: str, lot: str, number: int, left_m: float) -> StockRoll:
        roll = Roll(substrate="BAN510", lot=lot, number=number, width_mm=1600, length_left_m=left_m)
        return StockRoll(roll, Whereabouts.LANE, device_id, NOW)

    with store.transaction() as tx:
        assert tx.stock() == [
            on_lane("P1-A", "L1", 1, 12.5),
            on_lane("P1-B", "L1", 2, 40.0),
            on_lane("P2-W", "L2", 1, 0.0),
        ]
    store.close()
    engine = open_engine(tmp_path / "bridge.sqlite", read_only=False)
    assert differences(engine) == []
    engine.dispose()
