"""A bridge that stood still with a finished job in its hands, and whether the judge sees what keeps it from writing.

Of all that several bridges might do to one another only this shows from outside. A ticket that another has accepted,
or handed to its lane, in the meantime is refused the second time even to a bridge that nobody fences: by the unique
keys of the store, by its guarded changes and by the temporary name in the lane. Those are doubted one by one in
``unit/flow`` and ``unit/store``. That a job is completed, and its ticket told to be back, only once is the fence's alone.
"""

import random
import signal
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.databases import run_sql
from tests.processes.caught import GIVES_BACK, caught
from tests.processes.programs import wait_until
from tests.processes.several import Database, several, start_what_ended, until_all_listen
from tests.processes.stream import House, orders
from tests.processes.stream_checker import faults
from ticketbridge.demo.orders import DemoOrder

pytestmark = [pytest.mark.kill, pytest.mark.processes]

SEED = 20261125
TICKETS = 6
STOPS = 3
SLOW_DISK = """
import time
from ticketbridge.flow.press import returning
show = returning._show
returning._show = lambda *given: (show(*given), time.sleep(0.3))[0]
"""
"""A disk that takes its time with a returned ticket, so that the bridge is surely stopped before its commit."""
NO_FENCE = """
from ticketbridge.store import store
store.prove = lambda *given: None
"""


def stand_still(house: House, database: Database, work: Sequence[DemoOrder]) -> str:
    """Tickets are dropped, and a bridge stands still from when it has laid a finished ticket down until another has completed the job.

    Returns:
        The queue entry.
    """
    start_what_ended(house)
    for order in work:
        house.drop(order)
    hit = caught(house, database.address, GIVES_BACK, within_s=60)
    assert hit is not None
    state = "SELECT state FROM job WHERE queue_entry_id = :entry"
    assert run_sql(database.address, state, entry=hit.what) != [("Completed",)], "stopped too late"
    wait_until(
        lambda: run_sql(database.address, state, entry=hit.what) == [("Completed",)],
        f"another has completed {hit.what}",
    )
    hit.bridge.send(signal.SIGCONT)
    wait_until(lambda: hit.bridge.ended, "the one that stood still has noticed")
    return hit.what


@pytest.mark.timeout(600)
@pytest.mark.parametrize("fenced", [True, False], ids=["fenced", "not fenced"])
def test_a_bridge_that_stood_still_completes_no_job_a_second_time_and_one_without_a_fence_is_found_guilty(
    tmp_path: Path, *, fenced: bool
) -> None:
    doctored = SLOW_DISK if fenced else SLOW_DISK + NO_FENCE
    with (
        tempfile.TemporaryDirectory() as data,
        several(tmp_path, Path(data), 2, doctored) as (house, database),
    ):
        until_all_listen(house)
        stopped = [
            stand_still(house, database, list(orders(f"D{stop}", TICKETS, random.Random(SEED + stop))))
            for stop in range(STOPS)
        ]
        house.until_quiet(lambda: start_what_ended(house))
        for program in house.bridges + house.presses:
            program.stop()

    found = faults(tmp_path, [order.file_name for order in house.dropped], {}, speaking=("P1",))
    print(f"seed {SEED}: {stopped} in the hands of one that stood still; {len(found)} faults")
    if fenced:
        assert found == []
    else:
        assert sum("told 2 times that its ticket is back" in fault for fault in found) >= 1, found
