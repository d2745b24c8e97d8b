"""An independent judge of a demo folder: reads only folders and the presses' own logs, imports nothing of the bridge."""

import csv
import json
from collections import Counter
from itertools import product
from pathlib import Path

from lxml import etree

JDF = "{http://www.CIP4.org/JDFSchema_1_1}"
SOURCES = ("mis", "counter", "pdf-drop")
PLACES = ("drop", "claimed", "waiting", "accepted", "artwork", "repeated", "refused")


def faults(house: Path, dropped: list[str]) -> list[str]:
    """Everything that breaks a promise; empty where all is well.

    Args:
        house: The demo's folder.
        dropped: Names of all files that were ever dropped.
    """
    sources = [house / "shop" / "hotfolders" / source for source in SOURCES]
    found = [
        f"{name} lies in {places}" for name, places in _where(sources, dropped).items() if len(places) != 1
    ]
    lines = [
        json.loads(line)
        for log in sorted(house.glob("shop/simulated-press/*/print-log.jsonl"))
        for line in log.read_bytes().splitlines()
    ]
    ordered = _ordered(sources)
    for job_id, quantity in ordered.items():
        found += _printed(job_id, quantity, lines)
    found += [
        f"{line['job_id']} was printed and never accepted" for line in lines if line["job_id"] not in ordered
    ]
    for source in sources:
        found += _in_order(sorted(path.name for path in source.joinpath("status").glob("*.jmf")))
    returned = Counter(
        _job_id(path) for source in sources for path in source.joinpath("returned").glob("*.jdf")
    )
    found += [f"{job} was returned {returned[job]} times" for job in ordered if returned[job] != 1]
    return found


def _ordered(sources: list[Path]) -> dict[str, int]:
    """Pieces by job, as the files say that were taken; of two that name one job, the one taken later."""
    ordered: dict[str, int] = {}
    taken = [
        path for source in sources for place in ("accepted", "artwork") for path in (source / place).iterdir()
    ]
    for path in sorted(taken, key=lambda path: path.name):
        name = path.name.partition("~")[2]
        if name.endswith(".jdf"):
            root = etree.parse(str(path)).getroot()
            ordered[str(root.get("JobID"))] = int(_quantity(root))
        elif name.endswith(".csv"):
            refused = path.with_name(f"{path.name}.findings.txt").read_text()
            for number, row in enumerate(csv.DictReader(path.open(newline=""), delimiter=";"), start=2):
                if f"{name}:{number}" not in refused:
                    ordered[row["Order"]] = int(row["Pieces"])
        elif name.endswith(".pdf"):
            job_id, quantity, _ = name.split("_")
            ordered[job_id] = int(quantity.removesuffix("x"))
    return ordered


def _where(sources: list[Path], dropped: list[str]) -> dict[str, list[str]]:
    where: dict[str, list[str]] = {name: [] for name in dropped}
    for place, source in product(PLACES, sources):
        for path in source.joinpath(place).iterdir():
            name = path.name.partition("~")[2] or path.name
            if name in where:
                where[name].append(place)
    return where


def _printed(job_id: str, quantity: int, lines: list[dict[str, object]]) -> list[str]:
    """One delivery, each placement once, as many pieces as were ordered."""
    mine = [line for line in lines if line["job_id"] == job_id]
    serials = {line["serial"] for line in mine}
    indices = sorted(int(str(line["index"])) for line in mine)
    found = []
    if len(serials) != 1:
        found.append(f"{job_id} reached the press {len(serials)} times: {sorted(map(str, serials))}")
    if indices != list(range(len(indices))):
        found.append(f"{job_id}: placements {indices}")
    boxes = Counter((line["x_mm"], line["y_mm"]) for line in mine)
    if any(count > 1 for count in boxes.values()):
        found.append(f"{job_id}: a place was printed twice")
    tiles = len({str(line["tile"]) for line in mine})
    if len(mine) != quantity * tiles:
        found.append(f"{job_id}: {len(mine)} placements for {quantity} pieces of {tiles} tiles")
    return found


def _quantity(root: etree._Element) -> str:
    return next(
        link.get("Amount") or link.get("ActualAmount")
        for link in root.iter(f"{JDF}ComponentLink")
        if link.get("Usage") == "Output"
    )


def _job_id(path: Path) -> str:
    return str(etree.parse(str(path)).getroot().get("JobID"))


def _in_order(names: list[str]) -> list[str]:
    wanted = [f"{number:08d}.jmf" for number in range(1, len(names) + 1)]
    return [] if names == wanted else [f"status messages {names}"]
