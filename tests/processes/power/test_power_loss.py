"""Power cuts at every moment of a real day, on a disk that keeps only what was synced.

A real ``ticketbridge run`` is watched by strace while tickets come one by one, at once, and by message. Its calls are
replayed on a model of a disk (``lossy_disk``), and an independent judge (``judge``) looks at what each moment would
leave behind. That the judge is awake is shown by taking single syncs out of the record: it must object.
"""

import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.benchmarks.contestants import BRIDGE
from tests.processes.power.judge import Judge, Seen
from tests.processes.power.lossy_disk import ALL, WITHOUT, Image, LossyDisk
from tests.processes.power.shop_day import AT_ONCE, BY_MESSAGE, ONE_BY_ONE
from tests.processes.power.system_calls import NOT_READ, READ, Call, Moment, moments
from tests.unit.daemon.http.office import SENDERS
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.daemon import clock
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.keep.rescue import rescue
from ticketbridge.model.shop import Shop
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import open_store

ROOT = Path(__file__).parents[3]
pytestmark = pytest.mark.processes
KINDS = {
    "the claimed file": r".*/mis/claimed/[^.][^/]*",
    "the folder of claimed files": r".*/mis/claimed",
    "the lane's temporary file": r".*/lanes/[^/]+/in/\..*",
    "the lane's folder": r".*/lanes/[^/]+/in",
    "the commit": r".*/bridge\.sqlite-wal",
    "the message": r".*/mis/status/.*",
    "the folder of messages": r".*/mis/status",
    "what a submission said": r".*/mis/claimed/\..*\.said\.json",
    "the artwork of a submission": r".*/mis/artwork/.*\.pdf",
    "the folder of a submission": r".*/mis/artwork/\.receiving-[^/]*",
    "the folder of submissions": r".*/mis/artwork",
}
"""What the bridge syncs from the first ticket to its stop, by path."""


def kind_of(sync: Call) -> str:
    """What a sync of the bridge makes durable."""
    return next((kind for kind, path in KINDS.items() if re.fullmatch(path, sync.paths[0])), sync.paths[0])


@dataclass(frozen=True)
class Day:
    """A day that was recorded: the house as it was before, and what happened from the first dropped ticket on."""

    house: Path
    before: Path
    moments: list[Moment]
    first: int
    desk: int

    @property
    def syncs(self) -> list[Call]:
        """Every sync of the bridge from the first dropped ticket on, in order."""
        calls = [moment.call for moment in self.moments[self.first :] if not moment.ends]
        return [call for call in calls if call.is_sync and call.pid != self.desk]


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Day:
    tracer = shutil.which("strace")
    if tracer is None:
        if "CI" in os.environ:
            pytest.fail("strace is not installed, and CI is to prove the order of syncs")
        pytest.skip("strace is not installed; it records what the bridge asks of the disk")
    folder = tmp_path_factory.mktemp("power")
    house, trace, port = folder / "house", folder / "trace", _free_port()
    _make(house, port)
    shutil.copytree(house, folder / "before")
    command = [tracer, "-f", "--seccomp-bpf", "-qq", "-y", "-xx", "-s", "100000000", "-e", "signal=none"]
    command += ["-e", f"trace={READ},{NOT_READ}", "-o", str(trace)]
    command += [sys.executable, "-m", "tests.processes.power.shop_day", str(house), str(port)]
    subprocess.run(command, check=True, cwd=ROOT)
    found = moments(trace, house)
    first = next(i for i, one in enumerate(found) if any("drop/.order-" in path for path in one.call.paths))
    return Day(house, folder / "before", found, first, found[first].call.pid)


def cuts(day: Day, *, without: Call | None = None) -> Iterator[tuple[Moment, LossyDisk, Seen]]:
    """Every moment from the first ticket on at which a power cut leaves something new, or others had seen more."""
    disk, seen = LossyDisk(day.before), Seen()
    begun = False
    for place, moment in enumerate(day.moments):
        if moment.call is without:
            begun = True
            continue
        disk.play(moment)
        seen.note(moment, disk)
        begun = begun or (without is None and place >= day.first)
        if begun and moment.ends and not moment.call.name.endswith(("write", "write64", "truncate")):
            yield moment, disk, seen


def objections(day: Day, judge: Judge, *, without: Call | None = None) -> Iterator[str]:
    for moment, disk, seen in cuts(day, without=without):
        for image in disk.images():
            for fault in judge.faults(image, seen):
                what = f"{moment.call.name} {' '.join(moment.call.paths)}"
                yield f"{fault}; on the disk was {image.case}, after {what}"


@pytest.fixture
def judge(day: Day, tmp_path: Path) -> Judge:
    return Judge(tmp_path, day.house)


def test_the_model_of_the_disk_ends_with_the_same_files_as_the_real_one(day: Day) -> None:
    disk = LossyDisk(day.before)
    for moment in day.moments:
        disk.play(moment)
    end = next(image for image in disk.images() if image.case == ALL)
    real = {str(path.relative_to(day.house)): path for path in day.house.rglob("*") if path.is_file()}

    assert sorted(end.files) == sorted(real)
    differ = [name for name, path in real.items() if path.read_bytes() != end.files[name]]
    assert [name for name in differ if not name.endswith("-shm")] == [], "that one is mapped, and made anew"


def test_no_power_cut_at_any_moment_of_the_day_breaks_a_promise(day: Day, judge: Judge) -> None:
    last = list(cuts(day))[-1][2]

    assert len(last.given) == ONE_BY_ONE + AT_ONCE + BY_MESSAGE, "the day was a whole one"
    assert len(last.answered) == BY_MESSAGE
    assert list(objections(day, judge)) == []


@pytest.mark.parametrize("kind", list(KINDS))
def test_without_a_sync_of_this_kind_the_judge_objects(day: Day, judge: Judge, kind: str) -> None:
    one = next(call for call in day.syncs if kind_of(call) == kind)

    assert next(objections(day, judge, without=one), None) is not None


def test_every_sync_of_the_day_is_of_a_kind_that_is_proved_to_be_needed(day: Day) -> None:
    assert {kind_of(call) for call in day.syncs} == KINDS.keys()


@pytest.mark.timeout(600)
def test_a_start_after_any_power_cut_puts_everything_right(day: Day, judge: Judge) -> None:
    day.house.rename(day.house.with_name("recorded"))
    shop = load_shop(day.before / "shop").shop
    tried: set[int] = set()
    found: list[str] = []
    for moment, disk, seen in cuts(day):
        image = next(one for one in disk.images() if one.case == WITHOUT)
        print_of_it = hash(frozenset(image.files.items()))
        if print_of_it not in tried:
            tried.add(print_of_it)
            lay_out(image, day.house)
            start_and_stop(day.house / "shop", shop)
            left = Image("what a start left", contents(day.house))
            what = f"{moment.call.name} {' '.join(moment.call.paths)}"
            found += [f"{fault}; cut after {what}" for fault in judge.faults(left, seen, recovered=True)]
    assert found == []


def lay_out(image: Image, house: Path) -> None:
    """The disk as a start finds it, where the day was: addresses in its orders are whole ones."""
    shutil.rmtree(house, ignore_errors=True)
    for path, data in image.files.items():
        file = house / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    for folder in (ShopPlaces(house / "shop").requests, house / "taken"):
        folder.mkdir(parents=True, exist_ok=True)


def start_and_stop(folder: Path, shop: Shop) -> None:
    """What a bridge does at its start, in this process."""
    places = ShopPlaces(folder)
    with ThreadPoolExecutor(1) as disk:
        bridge = Bridge(
            shop=shop,
            store=open_store(places.database),
            places=places,
            now=clock.now,
            disk=disk,
            agent_version="test",
            notice=lambda _event, **_facts: None,
        )
        rescue(bridge, crashed=True)
        bridge.store.close()


def contents(house: Path) -> dict[str, bytes]:
    return {str(path.relative_to(house)): path.read_bytes() for path in house.rglob("*") if path.is_file()}


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _make(house: Path, port: int) -> None:
    """A shop where nobody prints and tickets come by message, too."""
    shop = house / "shop"
    (house / "taken").mkdir(parents=True)
    BRIDGE.prepare(shop)
    settings = shop / "shop.yaml"
    settings.write_text(settings.read_text() + SENDERS.format(more="").replace("port: 0", f"port: {port}"))
    make_folders(load_shop(shop))
