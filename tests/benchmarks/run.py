"""The bridge beside what it is judged by, in one run on one disk.

    python -m tests.benchmarks.run [--tickets 500] [--paced 150] [--rounds 3] [--dir FOLDER]

From the top of a checkout, on Linux. Takes under four minutes as it stands; saves nothing. FOLDER must be on the disk
that is meant (default: the system's folder for temporary files); where it is memory, f is near nothing and so are
the differences that durability makes.

Who takes part: the bridge with its sample shop (no limit on tickets at a lane, nobody prints); the ``strict`` and
the ``group`` reference (reference.py), which do what no honest bridge can leave out; three scripts as one would write
them in an afternoon (naive.py), which lose what the power takes. All of them get the same 10 KB orders from a
producer in a process of its own; arrival in a lane folder is seen from outside by inotify. Contestants take turns,
each in a fresh folder, in every round; figures are medians over the rounds.

f is the median of an fdatasync of 4 KB just before each run. A disk wanders by a factor of ten and more, so only
ratios within one run mean anything. Nothing here can fail for being slow: the bars are printed as met or not met.

Nearly all of the delay of "naive: xmlschema, rename" is watchdog's wait for the other half of a move, half a second in
which it holds back every event, and not the schema; "naive: xmlschema, copy" is the same script without that wait.
"""

import argparse
import os
import shutil
import statistics
import tempfile
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path

from tests.benchmarks.contestants import ALL, BRIDGE, COPIER, GROUP, NAIVE, STRICT
from tests.benchmarks.measure import Measured, measure
from tests.benchmarks.schema_choice import in_words
from tests.benchmarks.syncs import Syncs, count_syncs, tracer
from ticketbridge.report.plain_table import table

Results = dict[str, Measured]
COUNTED = (BRIDGE, STRICT, GROUP)


def main() -> None:
    words = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.run", description=__doc__.splitlines()[0]
    )
    words.add_argument("--tickets", type=int, default=500, help="tickets dropped at once")
    words.add_argument("--paced", type=int, default=150, help="tickets dropped one by one")
    words.add_argument("--rounds", type=int, default=3)
    words.add_argument(
        "--dir", type=Path, default=Path(tempfile.gettempdir()), help="a folder on the disk that is meant"
    )
    asked = words.parse_args()
    load = "/".join(f"{one:.1f}" for one in os.getloadavg())
    print(f"{os.cpu_count()} processors, load {load} before the start; {in_words()}.\n")
    with tempfile.TemporaryDirectory(prefix="ticketbridge-benchmark-", dir=asked.dir) as name:
        folder = Path(name).resolve()
        rounds = [
            _round(folder / f"round-{number}", asked.paced, asked.tickets) for number in range(asked.rounds)
        ]
        results = {one.name: _median([results[one.name] for results in rounds]) for one in ALL}
        print(_table(results, asked.tickets))
        syncs = _count(folder, asked.tickets)
    if syncs:
        print(_sync_table(syncs))
    print(_bars(results, syncs.get(BRIDGE.name)))


def _round(folder: Path, paced: int, at_once: int) -> Results:
    results = {}
    for number, contestant in enumerate(ALL):
        place = folder / str(number)
        results[contestant.name] = one = measure(contestant, place, paced, at_once)
        print(
            f"{folder.name}: f = {one.probe_ms:.2f} ms; {contestant.name}: "
            f"p50 {one.p50_ms:.1f} ms, {one.tickets_a_second:.0f} tickets/s",
            flush=True,
        )
        shutil.rmtree(place)
    return results


def _median(rounds: Sequence[Measured]) -> Measured:
    return Measured(
        *(statistics.median(getattr(one, field.name) for one in rounds) for field in fields(Measured))
    )


def _count(folder: Path, at_once: int) -> dict[str, Syncs]:
    if tracer() is None:
        print("strace is not installed, so syncs were not counted.")
        return {}
    return {
        one.name: count_syncs(one, folder / f"syncs-{number}", at_once) for number, one in enumerate(COUNTED)
    }


def _table(results: Results, at_once: int) -> str:
    heading = (
        "", "f ms", "p50 ms", "p99 ms", "/ strict", "at once", "tickets/s", "/ group",
        "CPU ms paced", "at once", "peak MiB", "ready s",
    )  # fmt: skip
    rows = [
        (
            one.name,
            f"{mine.probe_ms:.2f}",
            f"{mine.p50_ms:.1f}",
            f"{mine.p99_ms:.1f}",
            f"{mine.p50_ms / results[STRICT.name].p50_ms:.2f}",
            str(min(at_once, one.most_at_once)),
            f"{mine.tickets_a_second:.0f}",
            f"{mine.tickets_a_second / results[GROUP.name].tickets_a_second:.2f}",
            f"{mine.paced_processor_ms:.1f}",
            f"{mine.burst_processor_ms:.1f}",
            f"{mine.peak_mib:.0f}",
            f"{mine.start_s:.2f}",
        )
        for one in ALL
        if (mine := results[one.name])
    ]
    slower = ", ".join(f"{one.name} {one.pace_ms}" for one in ALL if one.pace_ms != BRIDGE.pace_ms)
    paces = f"p50 and p99: from drop to lane, a ticket every {BRIDGE.pace_ms} ms ({slower})."
    return f"\n{table(heading, rows)}\n{paces} CPU: processor time of a ticket.\n"


def _sync_table(syncs: dict[str, Syncs]) -> str:
    heading = ("Syncs a ticket", "one by one", "at once", "of these: one by one / at once")
    rows = [
        (
            name,
            f"{one.one_by_one:.2f}",
            f"{one.burst:.2f}",
            ", ".join(f"{what} {a:.2f} / {b:.2f}" for what, (a, b) in one.what_for.items()),
        )
        for name, one in syncs.items()
    ]
    return table(heading, rows) + "\n"


def _bars(results: Results, syncs: Syncs | None) -> str:
    """Each bar: what, how much, what is asked for, met or not."""
    bridge = results[BRIDGE.name]
    speed, delay = bridge.tickets_a_second, bridge.p50_ms
    asked = [
        (
            "tickets/s at once, against the naive script",
            speed / results[NAIVE.name].tickets_a_second,
            ">=",
            5.0,
        ),
        (
            "tickets/s at once, against the group reference",
            speed / results[GROUP.name].tickets_a_second,
            ">=",
            0.4,
        ),
        ("p50 one by one, better than the naive script", results[NAIVE.name].p50_ms / delay, ">=", 50.0),
        ("p50 one by one, better than the one that copies", results[COPIER.name].p50_ms / delay, ">=", 3.0),
        ("p50 one by one, against the strict reference", delay / results[STRICT.name].p50_ms, "<=", 2.0),
        ("start to ready, seconds", bridge.start_s, "<=", 1.5),
    ]
    if syncs is not None:
        asked.append(("syncs a ticket, one by one", syncs.one_by_one, "<=", 7.0))
        asked.append(("syncs a ticket, at once", syncs.burst, "<=", 2.5))
    rows = [
        (
            what,
            f"{value:.2f}",
            f"{sign} {bar:g}",
            "met" if (value >= bar if sign == ">=" else value <= bar) else "not met",
        )
        for what, value, sign, bar in asked
    ]
    return table(("The bridge", "measured", "bar", ""), rows)


if __name__ == "__main__":
    main()
