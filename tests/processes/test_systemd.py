"""The bridge as a service manager sees it: what it tells, when, and with which status it ends."""

import json
import os
import re
import secrets
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from ticketbridge.cli.init import init
from ticketbridge.daemon.service import STOP_S
from ticketbridge.demo.orders import BANNER, artwork, ticket
from ticketbridge.vocabulary.names import MARKER_NAME

pytestmark = pytest.mark.processes

PATIENCE_S = 30
PING_S = 0.2
RUN = [sys.executable, "-m", "ticketbridge", "run", "--stop-at-eof", "--shop"]


class ServiceManager:
    """The receiving end of NOTIFY_SOCKET (sd_notify(3)): datagrams of lines."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.bind("\0" + address[1:] if address.startswith("@") else address)

    def heard(self, within_s: float) -> list[str]:
        """The lines of the next datagram; none where nothing comes in that time."""
        self._socket.settimeout(within_s)
        try:
            return self._socket.recv(4096).decode().splitlines()
        except TimeoutError:
            return []

    def wait_for(self, line: str) -> None:
        """Until a datagram says so."""
        until_s = time.monotonic() + PATIENCE_S
        while line not in self.heard(until_s - time.monotonic()):
            assert time.monotonic() < until_s, f"waited in vain for {line}"

    def pings(self, during_s: float) -> int:
        """How many WATCHDOG=1 come in that time."""
        until_s, count = time.monotonic() + during_s, 0
        while (left_s := until_s - time.monotonic()) > 0:
            count += self.heard(left_s) == ["WATCHDOG=1"]
        return count

    def close(self) -> None:
        self._socket.close()


@pytest.fixture
def manager() -> Iterator[ServiceManager]:
    with tempfile.TemporaryDirectory() as short:  # a socket's path holds 107 bytes, fewer than some tmp_path
        made = ServiceManager(f"{short}/notify")
        yield made
        made.close()


@pytest.fixture
def manager_without_a_path() -> Iterator[ServiceManager]:
    """Its socket has an abstract name (unix(7)), which is written with an at sign."""
    made = ServiceManager(f"@ticketbridge-{secrets.token_hex(8)}")
    yield made
    made.close()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    assert CliRunner().invoke(init, [str(folder)]).exit_code == 0
    settings = folder / "shop.yaml"
    settings.write_text(settings.read_text().replace("scan_s: 5", "scan_s: 0.5"))
    return folder


@pytest.fixture
def start(shop: Path) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts bridges on the shop, and sees to it that none outlives the test."""
    started: list[subprocess.Popen[str]] = []

    def begin(manager: ServiceManager | None = None, command: list[str] = RUN) -> subprocess.Popen[str]:
        environment = {
            name: value
            for name, value in os.environ.items()
            if name not in ("NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID")
        }
        if manager is not None:
            environment |= {
                "NOTIFY_SOCKET": manager.address,
                "WATCHDOG_USEC": str(int(PING_S * 2 * 1_000_000)),
            }
        bridge = subprocess.Popen(
            [*command, str(shop)],
            stdin=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=environment,
        )
        started.append(bridge)
        return bridge

    yield begin
    for bridge in started:
        with bridge:
            bridge.kill()


def ended(bridge: subprocess.Popen[str]) -> tuple[int, str]:
    """The exit status and what was written to standard error; standard input stays open until then."""
    status = bridge.wait(PATIENCE_S)
    return status, bridge.communicate()[1]


def events(errors: str) -> list[str]:
    return [json.loads(line)["event"] for line in errors.splitlines()]


def leave_a_claimed_ticket(shop: Path) -> None:
    """What a killed bridge leaves: a ticket claimed and not yet in the store."""
    source = shop / "hotfolders" / "mis"
    art = source / "drop" / "art"
    art.mkdir()
    (art / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
    name = f"20261120T091500-abcdef-000001-1~{BANNER.file_name}"
    (source / "claimed" / name).write_bytes(ticket(BANNER))


def test_ready_is_told_when_the_store_is_there_and_what_was_left_half_done_is_finished(
    shop: Path, manager: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    leave_a_claimed_ticket(shop)
    assert not (shop / "state" / "bridge.sqlite").exists()

    start(manager)
    manager.wait_for("READY=1")

    with closing(sqlite3.connect(shop / "state" / "bridge.sqlite")) as store:
        jobs = store.execute("SELECT job_id FROM job").fetchall()
    assert jobs == [(BANNER.job_id,)]
    assert [path.name for path in (shop / "lanes" / "HL-P1-A" / "in").glob("*.jdf")] == ["Q000001.jdf"]


def test_as_long_as_the_store_cannot_be_opened_nothing_is_told(
    shop: Path, manager: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    database = shop / "state" / "bridge.sqlite"
    with closing(sqlite3.connect(database, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode=WAL")
        other.execute("BEGIN IMMEDIATE")
        start(manager)
        until_s = time.monotonic() + PATIENCE_S
        while not (shop / "state" / "bridge.lock").exists():
            assert time.monotonic() < until_s
            time.sleep(0.02)
        silence = manager.heard(within_s=2)
        other.execute("ROLLBACK")

    assert silence == []
    manager.wait_for("READY=1")


def test_it_tells_again_and_again_that_it_is_alive_and_once_that_it_stops(
    manager: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    bridge = start(manager)
    manager.wait_for("READY=1")

    pings = manager.pings(during_s=10 * PING_S)
    bridge.send_signal(signal.SIGTERM)
    manager.wait_for("STOPPING=1")
    status, errors = ended(bridge)

    assert 5 <= pings <= 11
    assert (status, events(errors)) == (0, ["ready", "stopped"])


def test_the_socket_may_have_an_abstract_name(
    manager_without_a_path: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    start(manager_without_a_path)

    manager_without_a_path.wait_for("READY=1")


HANGING_LANE = """
import threading
from functools import partial
from ticketbridge.cli import main
from ticketbridge.daemon import lane_loop, service

look = lane_loop.LaneLoop._look
hangs = threading.Event().wait
lane_loop.LaneLoop._look = lambda loop: hangs() if loop.name == "lane HL-P1-B" else look(loop)
service.Heartbeats = partial(service.Heartbeats, limit_s=3.0)
main()
"""
"""The bridge, where the loop of one lane stands still by a fault of ours, and three seconds count as hung."""


def test_one_loop_that_hangs_from_its_first_turn_on_silences_the_watchdog(
    shop: Path, manager: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    bridge = start(manager, [sys.executable, "-c", HANGING_LANE, "run", "--stop-at-eof", "--shop"])
    manager.wait_for("READY=1")

    at_first = manager.pings(during_s=2)
    manager.pings(during_s=2)  # in which the three seconds are over
    later = manager.pings(during_s=2)
    bridge.kill()
    errors = bridge.communicate()[1]

    assert at_first >= 3
    assert later == 0
    warnings = [json.loads(line) for line in errors.splitlines() if "no progress" in line]
    assert [warning["loops"] for warning in warnings] == [["lane HL-P1-B"]]


def test_while_no_loop_hangs_the_same_bridge_goes_on_telling(
    shop: Path, manager: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    sound = HANGING_LANE.replace("HL-P1-B", "of another shop")
    start(manager, [sys.executable, "-c", sound, "run", "--stop-at-eof", "--shop"])
    manager.wait_for("READY=1")
    manager.pings(during_s=4)

    assert manager.pings(during_s=2) >= 3


def test_without_a_service_manager_it_runs_and_stops_just_so(
    shop: Path, start: Callable[..., subprocess.Popen[str]]
) -> None:
    bridge = start()
    until_s = time.monotonic() + PATIENCE_S
    while not (shop / "state" / "bridge.sqlite").exists():
        assert time.monotonic() < until_s
        time.sleep(0.02)
    assert bridge.stderr
    assert json.loads(bridge.stderr.readline())["event"] == "ready"

    assert bridge.stdin
    bridge.stdin.close()

    assert bridge.wait(PATIENCE_S) == 0


def test_a_second_bridge_on_the_same_shop_is_turned_away(
    shop: Path, start: Callable[..., subprocess.Popen[str]]
) -> None:
    first = start()
    assert first.stderr
    assert json.loads(first.stderr.readline())["event"] == "ready"

    status, errors = ended(start())

    lock = shop / "state" / "bridge.lock"
    sentence = f"Not started: another bridge runs on this shop folder: it holds {lock}.\n"
    assert (status, errors) == (3, sentence)
    assert first.poll() is None


def test_the_lock_goes_with_a_killed_bridge(start: Callable[..., subprocess.Popen[str]]) -> None:
    first = start()
    assert first.stderr
    assert json.loads(first.stderr.readline())["event"] == "ready"
    first.kill()
    first.communicate()

    second = start()

    assert second.stderr
    assert json.loads(second.stderr.readline())["event"] == "ready"


def test_a_fault_in_the_shop_s_files_is_named_with_file_line_and_column(
    shop: Path, manager: ServiceManager, start: Callable[..., subprocess.Popen[str]]
) -> None:
    settings = shop / "shop.yaml"
    lines = settings.read_text().splitlines(keepends=True)
    number = next(index for index, line in enumerate(lines, 1) if line.startswith("time_zone: "))
    lines[number - 1] = "time_zone: Atlantis/Harbour\n"
    settings.write_text("".join(lines))

    status, errors = ended(start(manager))

    assert status == 1
    column = len("time_zone: ") + 1
    assert errors.startswith(f"{settings}:{number}:{column} time_zone: ")
    assert errors.count("\n") == 1
    assert not (shop / "state" / "bridge.sqlite").exists()
    assert manager.heard(within_s=0.1) == []


@pytest.fixture
def on_another_device(tmp_path: Path) -> Iterator[Path]:
    elsewhere = Path("/dev/shm")
    if not elsewhere.is_dir() or elsewhere.stat().st_dev == tmp_path.stat().st_dev:
        pytest.skip("this machine has no second file system to try it with")
    folder = Path(tempfile.mkdtemp(dir=elsewhere))
    yield folder
    shutil.rmtree(folder)


def test_folders_of_one_source_on_two_devices_are_refused(
    shop: Path, on_another_device: Path, start: Callable[..., subprocess.Popen[str]]
) -> None:
    accepted = shop / "hotfolders" / "mis" / "accepted"
    shutil.rmtree(accepted)
    (on_another_device / MARKER_NAME).touch()
    accepted.symlink_to(on_another_device)

    status, errors = ended(start())

    assert status == 1
    assert re.match(rf"{re.escape(str(shop))}/shop\.yaml:\d+:\d+ sources\[mis\]\.folder: ", errors)
    assert str(accepted) in errors
    assert "a ticket cannot be renamed from one to the other" in errors


def test_without_the_marker_of_its_state_folder_no_second_store_is_begun(
    shop: Path, start: Callable[..., subprocess.Popen[str]]
) -> None:
    (shop / "state" / MARKER_NAME).unlink()

    status, errors = ended(start())

    assert status == os.EX_TEMPFAIL
    assert f"Not started: {shop / 'state'} has no {MARKER_NAME} marker" in errors
    assert list((shop / "state").iterdir()) == []


def test_a_store_that_stays_locked_ends_it_with_the_status_for_another_try_and_one_line(
    shop: Path, start: Callable[..., subprocess.Popen[str]]
) -> None:
    with closing(sqlite3.connect(shop / "state" / "bridge.sqlite", isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode=WAL")
        other.execute("BEGIN IMMEDIATE")
        status, errors = ended(start())

    assert status == os.EX_TEMPFAIL
    (line,) = errors.splitlines()
    assert json.loads(line)["event"] == "ended by a fault"
    assert "database is locked" in json.loads(line)["exception"]


def test_a_shop_that_is_not_there_is_wrong_use(tmp_path: Path) -> None:
    done = subprocess.run(
        [*RUN, str(tmp_path / "nowhere")], capture_output=True, text=True, timeout=PATIENCE_S
    )

    assert done.returncode == 2
    assert f"'{tmp_path / 'nowhere'}' does not exist" in done.stderr


def test_loops_that_do_not_end_are_left_behind_before_the_service_manager_loses_patience() -> None:
    unit = Path(__file__).resolve().parents[2] / "deploy" / "ticketbridge.service"
    patience = re.search(r"^TimeoutStopSec=(\d+)$", unit.read_text(encoding="utf-8"), re.MULTILINE)

    assert patience
    assert int(patience[1]) > STOP_S
