"""The demo as a stranger runs it; then everything it wrote is held against the official schemas and its own layouts."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.processes.checker import faults
from ticketbridge.demo.orders import FILES, ORDERS

pytestmark = pytest.mark.processes
JDF = "{http://www.CIP4.org/JDFSchema_1_1}"
MM_PER_POINT = 25.4 / 72
"""1 pt = 1/72 in, 1 in = 25.4 mm exactly."""


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    folder = tmp_path_factory.mktemp("demo")
    command = [sys.executable, "-m", "ticketbridge", "demo", "--dir", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder / "harbourlight", done.stdout


def written(house: Path) -> list[Path]:
    """Everything that left the bridge: lane tickets as the presses took them, messages, returned tickets."""
    shop = house / "shop"
    return [
        *shop.glob("hotfolders/*/status/*.jmf"),
        *shop.glob("hotfolders/*/returned/*.jdf"),
        *house.glob("mis-received/*.jmf"),
        *taken(house),
    ]


def taken(house: Path) -> list[Path]:
    """Lane tickets, as the presses keep them."""
    return [
        path for path in house.glob("shop/simulated-press/*/state/**/*.jdf") if "set-aside" not in path.parts
    ]


def test_it_tells_its_story_and_verifies_it(played: tuple[Path, str]) -> None:
    house, told = played

    assert all(order.file_name in told for order in ORDERS)
    assert "Verified" in told
    assert faults(house, list(FILES)) == []


def test_everything_written_is_valid_by_the_official_schema(shared: Path, played: tuple[Path, str]) -> None:
    files = written(played[0])

    assert len(taken(played[0])) == sum(order.printed for order in ORDERS) == 14
    assert len(files) > 40
    assert {path.name: found for path in files if (found := invalid(shared, path))} == {}


def test_nothing_newer_than_the_press_s_version_was_written(shared: Path, played: tuple[Path, str]) -> None:
    found = {}
    for path in written(played[0]):
        root = etree.parse(str(path)).getroot()
        found[path.name] = too_new(shared, root, root.get("MaxVersion") or "1.7")

    assert {name: new for name, new in found.items() if new} == {}


def test_the_print_log_equals_the_layout_in_the_ticket_for_every_job(played: tuple[Path, str]) -> None:
    house = played[0]
    lines = [
        json.loads(line)
        for log in house.glob("shop/simulated-press/*/print-log.jsonl")
        for line in log.read_text().splitlines()
    ]
    for path in taken(house):
        root = etree.parse(str(path)).getroot()
        planned = [placed(box) for box in root.iter(f"{JDF}ContentObject")]
        mine = [line for line in lines if line["job_part_id"] == root.get("JobPartID")]
        mine.sort(key=lambda line: line["index"])
        printed = [
            (line["ord"], *(round(line[key], 1) for key in ("x_mm", "y_mm", "width_mm", "height_mm")))
            for line in mine
        ]
        assert printed == planned


def placed(box: etree._Element) -> tuple[float, ...]:
    """Ord, then left, leading edge, width and height in mm."""
    left, low, right, high = (float(number) * MM_PER_POINT for number in box.get("ClipBox", "").split())
    return (int(box.get("Ord", "")), *(round(mm, 1) + 0.0 for mm in (left, low, right - left, high - low)))
