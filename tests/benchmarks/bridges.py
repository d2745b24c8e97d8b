"""Two bridges on one PostgreSQL database beside one, in one run: tickets a second of a burst, and none taken twice.

    python -m tests.benchmarks.bridges [--tickets 2000] [--rounds 3] [--dir FOLDER]

The shop is the sample with a second order desk, so that there are two sources and three lanes to share. Half of the
burst falls into each source's drop folder, by a producer of its own. *One* bridge serves all of it; of *two*, started
on the same folders and the same database, each serves one of the two sources, and one or two of the lanes. So half of
the tickets are handed over by the bridge that took them in, and half by the other. The server is one of our own on
the same disk, with every commit synced. Variants take turns, the first of a round changing; figures are medians.

After each burst it is counted: every ticket lies in a lane once, by files and by the JobIDs in them, and the store
has one claim, one job, one delivery and one hand-over in the history for each.
"""

import argparse
import copy
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from lxml import etree
from ruamel.yaml import YAML

from tests.benchmarks.arrivals import Arrivals
from tests.benchmarks.contestants import BRIDGE, Running, Setting
from tests.benchmarks.probe import fdatasync_ms
from tests.benchmarks.schema_choice import ROOT
from tests.benchmarks.tickets import write_artwork, write_tickets
from tests.databases import Server, own_server, run_sql
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.model.share import SOURCE, lease_name
from ticketbridge.report.plain_table import table
from ticketbridge.spool.places import ShopPlaces

SOURCES = ("mis", "mis-2")
WARM_UP = 12
SHARED_S = 60.0
SLOWEST = 10.0
"""Tickets a second that any machine reaches; a burst that takes longer than that has failed."""
LEAST_RATIO = 0.9


@dataclass(frozen=True, slots=True)
class Shop:
    """A shop of two order desks on a database of its own."""

    setting: Setting
    drops: tuple[Path, ...]
    address: str


@dataclass(frozen=True, slots=True)
class Measured:
    """One burst: how the disk and the machine were before it, and what the bridges did."""

    probe_ms: float
    load: float
    tickets_a_second: float
    processor_ms: float


def main() -> None:
    words = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.bridges", description=__doc__.splitlines()[0]
    )
    words.add_argument("--tickets", type=int, default=2000, help="tickets dropped at once, up to 10,000")
    words.add_argument("--rounds", type=int, default=3)
    words.add_argument("--dir", type=Path, default=Path(tempfile.gettempdir()))
    asked = words.parse_args()
    found: dict[int, list[Measured]] = {1: [], 2: []}
    with (
        tempfile.TemporaryDirectory(prefix="ticketbridge-benchmark-", dir=asked.dir) as name,
        ExitStack() as end,
    ):
        folder = Path(name).resolve()
        server = Server(end.enter_context(own_server(folder)).get_uri())
        end.callback(server.close)
        for number in range(asked.rounds):
            for bridges in (1, 2) if number % 2 == 0 else (2, 1):
                place = folder / f"{number}-{bridges}"
                one = measure(server, place, bridges, asked.tickets)
                found[bridges].append(one)
                print(
                    f"round {number}, bridges {bridges}: f = {one.probe_ms:.2f} ms, load {one.load:.1f}, "
                    f"{one.tickets_a_second:.0f} tickets/s, {one.processor_ms:.1f} ms of processor each",
                    flush=True,
                )
    print(_report(found))


def _report(found: dict[int, list[Measured]]) -> str:
    rows = [
        (
            str(bridges),
            f"{statistics.median(one.probe_ms for one in rounds):.2f}",
            f"{statistics.median(one.load for one in rounds):.1f}",
            f"{statistics.median(one.tickets_a_second for one in rounds):.0f}",
            f"{statistics.median(one.processor_ms for one in rounds):.1f}",
        )
        for bridges, rounds in found.items()
    ]
    ratios = [
        two.tickets_a_second / one.tickets_a_second for one, two in zip(found[1], found[2], strict=True)
    ]
    ratio = statistics.median(ratios)
    met = "met" if ratio >= LEAST_RATIO else "NOT MET"
    each = ", ".join(f"{one:.2f}" for one in ratios)
    return "\n".join(
        [
            "",
            table(("bridges", "f ms", "load", "tickets/s", "processor ms"), rows),
            f"two against one, round by round: {each}; median {ratio:.2f}, at least {LEAST_RATIO}: {met}",
            "every ticket in a lane once, and claimed, made a job, and handed over once: counted after each burst",
        ]
    )


def measure(server: Server, folder: Path, bridges: int, tickets: int) -> Measured:
    """One burst through so many bridges, in a fresh folder and an empty database."""
    home = folder / "home"
    home.mkdir(parents=True)
    shop = _shop(home, server.new_database())
    running: list[Running] = []
    try:
        running.extend(Running(shop.setting, folder / f"log-{number}") for number in range(bridges))
        _wait_until_shared(shop, bridges)
        arrivals = Arrivals(shop.setting.lanes)
        _burst(shop, arrivals, folder / "warm-up", 1, WARM_UP)
        os.sync()
        probe_ms, load = fdatasync_ms(folder), os.getloadavg()[0]
        before_s = sum(one.processor_s() for one in running)
        took_s = _burst(shop, arrivals, folder / "burst", 1 + WARM_UP, tickets)
        processor_s = sum(one.processor_s() for one in running) - before_s
        arrivals.close()
    finally:
        for one in running:
            one.stop()
    prove_once(shop, WARM_UP + tickets)
    server.drop(shop.address)
    return Measured(probe_ms, load, tickets / took_s, 1000 * processor_s / tickets)


def _shop(folder: Path, address: str) -> Shop:
    setting = BRIDGE.prepare(folder)
    yaml, file = YAML(), folder / "shop.yaml"
    settings = yaml.load(file.read_text(encoding="utf-8"))
    desk = copy.deepcopy(
        settings["sources"][0]
    )  # or it would be written as an alias, which shops do not have
    desk.update(id=SOURCES[1], folder=f"hotfolders/{SOURCES[1]}")
    settings["sources"].append(desk)
    settings["store"] = address
    with file.open("w", encoding="utf-8") as text:
        yaml.dump(settings, text)
    loaded = load_shop(folder)
    make_folders(loaded)
    drops = tuple(
        ShopPlaces(folder).source(source.folder).drop
        for source in loaded.shop.settings.sources
        if source.id in SOURCES
    )
    for drop in drops:
        write_artwork(drop)
    return Shop(setting, drops, address)


def _wait_until_shared(shop: Shop, bridges: int) -> None:
    """Until the two sources are served, each by a bridge of its own where there are two, and every lane, too."""
    until_s = time.monotonic() + SHARED_S
    while time.monotonic() < until_s:
        rows = run_sql(shop.address, "SELECT name, bridge_id FROM lease")
        owners = dict(rows)
        busy = {owners.get(lease_name(SOURCE, source)) for source in SOURCES}
        if (
            None not in owners.values()
            and None not in busy
            and len(set(owners.values())) == bridges == len(busy)
        ):
            time.sleep(5.0)  # a beat more, so that what was taken is served
            return
        time.sleep(0.2)
    raise RuntimeError(f"the bridges do not share the shop: {owners}")


def _burst(shop: Shop, arrivals: Arrivals, spare: Path, first: int, tickets: int) -> float:
    """Drop so many at once, half of them at each source; seconds from the first drop to the last arrival."""
    halves = (tickets // 2, tickets - tickets // 2)
    prepared = [spare / source for source in SOURCES]
    write_tickets(prepared[0], first, halves[0])
    write_tickets(prepared[1], first + halves[0], halves[1])
    seen = set(arrivals.seen_s)
    producers = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.benchmarks.drop", str(here), str(drop), "0"],
            stdout=subprocess.PIPE,
            cwd=ROOT,
        )
        for here, drop in zip(prepared, shop.drops, strict=True)
    ]
    arrivals.wait_for(tickets, 30 + tickets / SLOWEST)
    dropped_s = [at_s for one in producers for at_s in json.loads(one.communicate()[0]).values()]
    return max(at_s for path, at_s in arrivals.seen_s.items() if path not in seen) - min(dropped_s)


def prove_once(shop: Shop, tickets: int) -> None:
    """Every ticket once, wherever one looks.

    Raises:
        AssertionError: One is missing, or is there twice.
    """
    wanted = {f"HL-B{number:06d}" for number in range(1, 1 + tickets)}
    files = [path for lane in shop.setting.lanes for path in lane.glob("*.jdf") if path.name[0] != "."]
    _once("ticket in a lane", [str(etree.parse(path).getroot().get("JobID")) for path in files], wanted)
    _once("job", _column(shop, "SELECT job_id FROM job"), wanted)
    _once("delivery", _column(shop, "SELECT job_id FROM job JOIN delivery USING (queue_entry_id)"), wanted)
    for what in ("accepted", "released"):
        history = f"SELECT job_id FROM job JOIN event USING (queue_entry_id) WHERE what = '{what}'"
        _once(f"history: {what}", _column(shop, history), wanted)
    names = {f"order-{number:06d}.jdf" for number in range(1, 1 + tickets)}
    _once("claim", _column(shop, "SELECT original_name FROM intake"), names)


def _column(shop: Shop, question: str) -> list[str]:
    return [str(row[0]) for row in run_sql(shop.address, question)]


def _once(what: str, found: Sequence[str], wanted: set[str]) -> None:
    counts = Counter(found)
    wrong = {name: counts[name] for name in wanted | counts.keys() if counts[name] != (name in wanted)}
    assert not wrong, f"{what}: not once each: {dict(list(wrong.items())[:10])}"


if __name__ == "__main__":
    main()
