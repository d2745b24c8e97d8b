"""How often the disk is made to wait, per ticket: every fsync, fdatasync and syncfs, counted with strace.

A count is the same on every disk. Tickets come one by one, then all at once.
"""

import re
import shutil
import time
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from tests.benchmarks.contestants import Contestant, Running
from tests.benchmarks.measure import Course

WARM_UP = 5
ONE_BY_ONE = 40
PACE_MS = 50
AFTERWARDS_S = 1.5
"""Messages are synced up to a second after they were sent."""

CALL = re.compile(r"\b(?:fsync|fdatasync|syncfs)\(\d+<(?P<path>[^>]*)>")


@dataclass(frozen=True, slots=True)
class Syncs:
    """Syncs a ticket, and for what, one by one and in a burst."""

    one_by_one: float
    burst: float
    what_for: dict[str, tuple[float, float]]


def tracer() -> str | None:
    """Where strace is, if it is."""
    return shutil.which("strace")


def count_syncs(contestant: Contestant, folder: Path, at_once: int) -> Syncs:
    """Run a contestant under strace and count. Slower than without, so nothing is timed here."""
    home, trace = folder / "home", folder / "trace"
    home.mkdir(parents=True)
    setting = contestant.prepare(home)
    under = [
        str(tracer()),
        "-f",
        "--seccomp-bpf",
        "-qq",
        "-y",
        "-e",
        "trace=fsync,fdatasync,syncfs",
        "-o",
        str(trace),
    ]
    running = Running(setting, folder / "log", under)
    try:
        course = Course(running, setting.drop, setting.lanes, folder)
        course.pass_through(WARM_UP, PACE_MS)
        marks = [_settled(trace)]
        course.pass_through(ONE_BY_ONE, PACE_MS)
        marks.append(_settled(trace))
        course.pass_through(at_once, 0)
        marks.append(_settled(trace))
        course.close()
    finally:
        running.stop()
    lines = trace.read_text(encoding="utf-8", errors="replace").splitlines()
    one, burst = (_calls(lines[start:end], home) for start, end in pairwise(marks))
    what_for = {
        what: (one[what] / ONE_BY_ONE, burst[what] / at_once) for what in sorted(one.keys() | burst.keys())
    }
    return Syncs(one.total() / ONE_BY_ONE, burst.total() / at_once, what_for)


def _settled(trace: Path) -> int:
    """Lines of the trace once nothing more is on its way."""
    time.sleep(AFTERWARDS_S)
    return len(trace.read_text(encoding="utf-8", errors="replace").splitlines())


def _calls(lines: list[str], home: Path) -> Counter[str]:
    """Calls by the folder that they concern; a file counts for its folder, a folder for itself."""
    calls: Counter[str] = Counter()
    for line in lines:
        found = CALL.search(line)
        if found is not None:
            path = Path(found["path"].removesuffix(" (deleted)"))
            is_folder = path.is_dir()
            place = (path if is_folder else path.parent).relative_to(home.resolve())
            what = (
                "database"
                if ".sqlite" in path.name
                else f"{place.name} ({'folder' if is_folder else 'file'})"
            )
            calls[what] += 1
    return calls
