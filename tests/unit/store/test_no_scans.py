"""What is asked for every ticket and at every start looks at a few rows, however many there ever were."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event

from ticketbridge.store.opening import migrate, open_engine
from ticketbridge.store.store import Store
from ticketbridge.store.transaction import Transaction

GROWING = ("intake", "job", "delivery", "event", "message", "received")

QUESTIONS: dict[str, Callable[[Transaction], object]] = {
    "open_jobs": lambda tx: tx.open_jobs(),
    "recent_jobs": lambda tx: tx.recent_jobs(100),
    "waiting_jobs": lambda tx: tx.waiting_jobs(),
    "lane_loads": lambda tx: tx.lane_loads(),
    "planned_on_rolls": lambda tx: tx.planned_on_rolls(["A", "B"]),
    "queue_sizes": lambda tx: tx.queue_sizes(),
    "last_number": lambda tx: tx.last_number(),
    "known_identities": lambda tx: tx.known_identities(["a", "b"]),
    "jobs_named": lambda tx: tx.jobs_named("mis", "HL-1"),
    "find_standing": lambda tx: tx.find_standing("Q000001"),
    "deliveries": lambda tx: tx.deliveries("HL-P1-A"),
    "charged_m": lambda tx: tx.charged_m("Q000001"),
    "history": lambda tx: tx.history("Q000001"),
    "intake_outcome": lambda tx: tx.intake_outcome("claim-1"),
    "unsent": lambda tx: tx.unsent("mis.folder", 0, 64),
    "mark_given": lambda tx: tx.mark_given([]),
}

FROM_THE_INDEX = ("lane_loads", "queue_sizes", "planned_on_rolls")
"""Asked of all open jobs for every batch. Their rows are long."""


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    engine = open_engine(tmp_path / "bridge.sqlite", read_only=False)
    migrate(engine)
    return engine


@pytest.mark.parametrize("name", QUESTIONS)
def test_nobody_reads_a_whole_table_that_grows(engine: Engine, name: str) -> None:
    plans = plans_of(engine, name)

    assert plans
    # Over the numbers alone, newest first and ended by its limit, it stops after a few rows.
    scans = [plan for plan in plans if plan.startswith("SCAN") and plan.split()[1] in GROWING]
    assert [plan for plan in scans if name != "recent_jobs"] == []


@pytest.mark.parametrize("name", FROM_THE_INDEX)
def test_what_every_batch_asks_of_all_open_jobs_reads_no_row_of_them(engine: Engine, name: str) -> None:
    of_jobs = [plan for plan in plans_of(engine, name) if plan.split()[1] == "job"]

    assert of_jobs
    assert all("USING COVERING INDEX" in plan for plan in of_jobs)


def test_jobs_that_were_given_are_found_by_their_names(engine: Engine) -> None:
    assert all("queue_entry_id=?" in plan for plan in plans_of(engine, "mark_given") if "SEARCH job" in plan)


def plans_of(engine: Engine, name: str) -> list[str]:
    """How SQLite goes about what this question asks."""
    asked: list[tuple[str, Any]] = []

    @event.listens_for(engine, "before_cursor_execute")
    def note(_connection: object, _cursor: object, statement: str, values: object, *_: object) -> None:
        if not statement.startswith("BEGIN"):
            asked.append((statement, values))

    store = Store(engine)
    with store.transaction() as tx:
        QUESTIONS[name](tx)
        statements = list(asked)
        plans = [
            str(step[3])
            for statement, values in statements
            for step in tx._connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)
        ]
    store.close()
    return plans
