"""The migrations make exactly the tables that the code uses, and keep what older ones held."""

from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, insert, text

from tests.databases import run_sql
from tests.unit.made import NOW, job
from ticketbridge.model.job import as_text
from ticketbridge.model.stock import StockRoll, Whereabouts
from ticketbridge.model.substrate import Roll
from ticketbridge.store import opening
from ticketbridge.store.opening import Address, migrate, open_engine
from ticketbridge.store.records import Intake
from ticketbridge.store.rows import job_row
from ticketbridge.store.store import open_store
from ticketbridge.store.tables import JOB, METADATA
from ticketbridge.store.transaction import Transaction

MIGRATIONS = Path(opening.__file__).parent / "migrations"


def test_the_migrated_tables_are_the_tables_of_the_code(database: Address) -> None:
    engine = open_engine(database, read_only=False)
    migrate(engine)

    assert differences(engine) == []
    engine.dispose()


def differences(engine: Engine) -> list[object]:
    with engine.begin() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return list(compare_metadata(context, METADATA))


def store_of_version(database: Address, revision: str) -> Engine:
    """A store as the bridge of that revision left it."""
    engine = open_engine(database, read_only=False)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    return engine


REVISIONS = sorted(revision.revision for revision in ScriptDirectory(str(MIGRATIONS)).walk_revisions())


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_store_of_any_earlier_bridge_becomes_the_store_of_this_one(
    database: Address, revision: str
) -> None:
    store_of_version(database, revision).dispose()
    run_sql(database, "INSERT INTO channel (channel, last_seq, sent_up_to) VALUES ('mis.folder', 7, 5)")

    store = open_store(database)

    with store.transaction() as tx:
        assert tx.channels() == {"mis.folder": (7, 5)}
    store.close()
    engine = open_engine(database, read_only=False)
    assert differences(engine) == []
    engine.dispose()


def test_the_rolls_on_the_lanes_of_an_older_store_stay_there_and_rolls_of_one_lot_are_told_apart(
    database: Address,
) -> None:
    engine = store_of_version(database, "0001")
    with engine.begin() as connection:
        for device_id, lot, left_m in (("P1-A", "L1", 12.5), ("P1-B", "L1", 40.0), ("P2-W", "L2", 0.0)):
            connection.execute(
                text("INSERT INTO roll VALUES (:device, 'BAN510', :lot, 1600, :left, :at)"),
                {"device": device_id, "lot": lot, "left": left_m, "at": as_text(NOW)},
            )
    engine.dispose()

    store = open_store(database)

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
    engine = open_engine(database, read_only=False)
    assert differences(engine) == []
    engine.dispose()


def test_what_older_jobs_take_of_their_rolls_is_still_counted(database: Address) -> None:
    made = job()
    assert made.roll is not None
    row = job_row(made)
    for newer in ("roll_lot", "roll_number"):
        del row[newer]
    engine = store_of_version(database, "0010")
    with engine.begin() as connection:
        intake = Intake(made.claim_id, "mis", "a.jdf", "accepted", "0" * 64, ())
        Transaction(connection).record_intakes([intake], NOW)
        connection.execute(insert(JOB), row)
    engine.dispose()

    store = open_store(database)

    with store.transaction() as tx:
        assert tx.planned_on_rolls([made.roll.lot]) == {made.roll.identity: made.estimate.roll_length_mm}
        assert tx.planned_on_rolls(["another"]) == {}
    store.close()
