"""The bridge over a store that has grown for years, beside one over a small store, in one run.

    python -m tests.benchmarks.large_store [--jobs 100000] [--tickets 200] [--paced 100] [--rounds 3] [--dir FOLDER]

Both stores are filled from what a real bridge wrote for a few tickets: each row is multiplied under new names, its
job finished, its messages sent. A finished job has 2 messages, 8 lines of history and 6 signals of its press. Then
the bridge is started on each in turn, and tickets go through it one by one and at once. FOLDER is best in memory
(default /dev/shm, where there is one): the disk is not what is asked about here. Nothing here can fail for being
slow: the bars are printed as met or not met.
"""

import argparse
import sqlite3
import statistics
import tempfile
from collections.abc import Callable, Sequence
from contextlib import closing
from functools import partial
from pathlib import Path

from tests.benchmarks.contestants import BRIDGE, Contestant, Running, Setting
from tests.benchmarks.measure import Course, Measured, measure
from ticketbridge.report.plain_table import table
from ticketbridge.spool.places import ShopPlaces

SMALL = 1_000
TEMPLATES = 4
HISTORY, SIGNALS = 8, 6
"""Rows that a job has when it is finished."""
MOST_START_S, MOST_RATIO, MOST_MIB = 5.0, 1.2, 300.0


def main() -> None:
    words = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.large_store", description=__doc__.splitlines()[0]
    )
    words.add_argument("--jobs", type=int, default=100_000, help="finished jobs in the large store")
    words.add_argument("--tickets", type=int, default=200, help="tickets dropped at once")
    words.add_argument("--paced", type=int, default=100, help="tickets dropped one by one")
    words.add_argument("--rounds", type=int, default=3)
    memory = Path("/dev/shm")
    words.add_argument("--dir", type=Path, default=memory if memory.is_dir() else Path(tempfile.gettempdir()))
    asked = words.parse_args()
    sizes = (SMALL, asked.jobs)
    results: dict[int, list[Measured]] = {size: [] for size in sizes}
    with tempfile.TemporaryDirectory(prefix="ticketbridge-benchmark-", dir=asked.dir) as name:
        for number in range(asked.rounds):
            for size in sizes:
                contestant = Contestant(f"{size} jobs", partial(_grown, size))
                folder = Path(name).resolve() / f"{number}-{size}"
                results[size].append(measure(contestant, folder, asked.paced, asked.tickets))
    print(_report(results, asked.jobs))


def _report(results: dict[int, list[Measured]], large: int) -> str:
    def median(size: int, of: Callable[[Measured], float]) -> float:
        return statistics.median(of(one) for one in results[size])

    rows: list[Sequence[str]] = [
        (
            f"{size}",
            f"{median(size, lambda one: one.start_s):.2f}",
            f"{median(size, lambda one: one.p50_ms):.0f}",
            f"{median(size, lambda one: one.paced_processor_ms):.2f}",
            f"{median(size, lambda one: one.burst_processor_ms):.2f}",
            f"{median(size, lambda one: one.peak_mib):.0f}",
        )
        for size in results
    ]
    ratios = [
        median(large, of) / median(SMALL, of)
        for of in (lambda one: one.paced_processor_ms, lambda one: one.burst_processor_ms)
    ]
    start_s = median(large, lambda one: one.start_s)
    peak_mib = median(large, lambda one: one.peak_mib)
    bars = [
        (f"start to serving {start_s:.2f} s, at most {MOST_START_S:g} s", start_s <= MOST_START_S),
        (f"processor a ticket, paced: {ratios[0]:.2f} times, at most {MOST_RATIO}", ratios[0] <= MOST_RATIO),
        (
            f"processor a ticket, at once: {ratios[1]:.2f} times, at most {MOST_RATIO}",
            ratios[1] <= MOST_RATIO,
        ),
        (f"memory {peak_mib:.0f} MiB, at most {MOST_MIB:g} MiB", peak_mib <= MOST_MIB),
    ]
    headings = ("jobs", "start s", "p50 ms", "processor ms, paced", "at once", "MiB")
    return "\n".join(
        [table(headings, rows), "", *(f"{'met    ' if met else 'NOT MET'}  {bar}" for bar, met in bars)]
    )


def _grown(jobs: int, folder: Path) -> Setting:
    """A shop whose bridge has finished so many jobs."""
    setting = BRIDGE.prepare(folder)
    running = Running(setting, folder / "first.log")
    try:
        course = Course(running, setting.drop, setting.lanes, folder.parent)
        course._next = 900_001  # not the numbers that come later
        course.pass_through(TEMPLATES, 20)
        course.close()
    finally:
        running.stop()
    for lane in setting.lanes:
        for ticket in lane.glob("*.jdf"):
            ticket.unlink()
    with closing(sqlite3.connect(ShopPlaces(folder).database)) as store:
        grow(store, jobs // TEMPLATES)
        store.commit()
        store.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return setting


def grow(store: sqlite3.Connection, times: int) -> None:
    """Finish the jobs that are there and multiply them: ``times`` in all for each."""
    store.execute("UPDATE job SET state = 'Completed', phase = 'Completed', ended_at = submitted_at")
    store.execute("UPDATE delivery SET state = 'delivered'")
    store.execute(
        "CREATE TEMP TABLE copy AS WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n WHERE k < ?)"
        " SELECT k FROM n",
        (times - 1,),
    )
    entry = f"printf('Q%06d', substr({{0}}, 2) + {TEMPLATES} * k)"
    claim = "{0} || '.' || k"
    _multiply(store, "intake", claim_id=claim)
    _multiply(
        store,
        "job",
        number=f"{{0}} + {TEMPLATES} * k",
        queue_entry_id=entry,
        claim_id=claim,
        job_id="{0} || '.' || k",
        identity="substr({0}, 1, 56) || printf('%08x', k)",
    )
    _multiply(store, "delivery", queue_entry_id=entry)
    store.execute("DELETE FROM event")
    store.execute(
        "INSERT INTO event (queue_entry_id, what, who, facts, at)"
        " SELECT queue_entry_id, 'press notice', device_id, '{\"severity\": \"Event\"}', submitted_at"
        f" FROM job, (SELECT k FROM copy LIMIT {HISTORY})"
    )
    store.execute(
        "INSERT INTO received (sender_id, message_id, at)"
        " SELECT device_id || ' press', queue_entry_id || '-' || k, submitted_at"
        f" FROM job, (SELECT k FROM copy LIMIT {SIGNALS})"
    )
    channel, last = store.execute("SELECT channel, max(seq) FROM message GROUP BY channel").fetchone()
    store.execute("CREATE TEMP TABLE sent AS SELECT * FROM message WHERE channel = ? LIMIT 2", (channel,))
    store.execute(
        "INSERT INTO message (channel, seq, body, file_name, dead, at)"
        " SELECT s.channel, ? + row_number() OVER (), s.body, s.file_name, 0, s.at FROM sent s, job",
        (last,),
    )
    store.execute(
        "UPDATE channel SET last_seq = (SELECT max(seq) FROM message m WHERE m.channel = channel.channel),"
        " sent_up_to = (SELECT max(seq) FROM message m WHERE m.channel = channel.channel) WHERE channel = ?",
        (channel,),
    )


def _multiply(store: sqlite3.Connection, name: str, **changed: str) -> None:
    columns = [row[1] for row in store.execute(f"PRAGMA table_info({name})")]
    values = [changed.get(column, "{0}").format(f"t.{column}") for column in columns]
    store.execute(f"CREATE TEMP TABLE template_{name} AS SELECT * FROM {name}")
    store.execute(
        f"INSERT INTO {name} ({', '.join(columns)}) SELECT {', '.join(values)} FROM template_{name} t, copy"
    )


if __name__ == "__main__":
    main()
