"""An independent judge of a demo folder: reads only folders and the presses' own logs, imports nothing of the bridge."""

import json
from collections import Counter
from pathlib import Path

from lxml import etree

JDF = "{http://www.CIP4.org/JDFSchema_1_1}"
PLACES = ("drop", "claimed", "accepted", "repeated", "refused")


def faults(house: Path, dropped: list[str]) -> list[str]:
    """Everything that breaks a promise; empty where all is well.

    Args:
        house: The demo's folder.
        dropped: Names of all tickets that were ever dropped.
    """
    source = house / "shop" / "hotfolders" / "mis"
    found = [
        f"{name} lies in {places}" for name, places in _where(source, dropped).items() if len(places) != 1
    ]
    lines = [
        json.loads(line)
        for log in sorted(house.glob("shop/simulated-press/*/print-log.jsonl"))
        for line in log.read_bytes().splitlines()
    ]
    accepted = [path for path in source.joinpath("accepted").iterdir() if not path.name.startswith(".")]
    for path in accepted:
        root = etree.parse(str(path)).getroot()
        found += _printed(root.get("JobID"), int(_quantity(root)), lines)
    jobs = {etree.parse(str(path)).getroot().get("JobID") for path in accepted}
    found += [
        f"{line['job_id']} was printed and never accepted" for line in lines if line["job_id"] not in jobs
    ]
    found += _in_order(sorted(path.name for path in source.joinpath("status").glob("*.jmf")))
    returned = Counter(_job_id(path) for path in source.joinpath("returned").glob("*.jdf"))
    found += [f"{job} was returned {returned[job]} times" for job in jobs if returned[job] != 1]
    return found


def _where(source: Path, dropped: list[str]) -> dict[str, list[str]]:
    where: dict[str, list[str]] = {name: [] for name in dropped}
    for place in PLACES:
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
