"""Several bridges on one shop folder and one PostgreSQL database: real processes, killed, stopped and slowed down."""

import contextlib
import json
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.databases import Server, own_server, run_sql
from ticketbridge.cli import main
from ticketbridge.cli.init import init
from ticketbridge.demo.orders import BANNER, ORDERS, DemoOrder, artwork, ticket

pytestmark = pytest.mark.processes

CANVAS = ORDERS[1]
PATIENCE_S = 60
LASTS_S = 4.0
RUN = f"""
from ticketbridge.store import leases
leases.LASTS_S = {LASTS_S}
from ticketbridge.daemon import lease_loop
lease_loop.BEAT_S = lease_loop.MARGIN_S = 0.5
from ticketbridge.cli import main
main()
"""
"""The bridge with short leases."""


@pytest.fixture
def address(postgres: Server) -> str:
    return postgres.new_database()


@pytest.fixture
def shop(tmp_path: Path, address: str) -> Path:
    return new_shop(tmp_path, address)


def new_shop(tmp_path: Path, address: str) -> Path:
    folder = tmp_path / "shop"
    assert CliRunner().invoke(init, [str(folder)]).exit_code == 0
    settings = folder / "shop.yaml"
    text = settings.read_text().replace("scan_s: 5", "scan_s: 0.5")
    settings.write_text(f"store: {address}\n{text}")
    (folder / "hotfolders" / "mis" / "drop" / "art").mkdir()
    return folder


class Bridges:
    """Starts bridges on the shop; what they log lies beside it."""

    def __init__(self, shop: Path, address: str) -> None:
        self.shop, self.address = shop, address
        self.started: list[subprocess.Popen[bytes]] = []

    def start(self) -> subprocess.Popen[bytes]:
        with self.log(len(self.started)).open("wb") as log:
            command = [sys.executable, "-c", RUN, "run", "--shop", str(self.shop)]
            self.started.append(subprocess.Popen(command, stderr=log))
        return self.started[-1]

    def log(self, number: int) -> Path:
        return self.shop.with_name(f"bridge-{number}.log")

    def said(self, number: int, event: str) -> bool:
        lines = self.log(number).read_text().splitlines()
        return any(json.loads(line)["event"] == event for line in lines if line.startswith("{"))

    def owners(self) -> dict[str, int | None]:
        """Which bridge serves what, by the place in which it was started."""
        pids = {bridge.pid: number for number, bridge in enumerate(self.started)}
        rows = run_sql(
            self.address, "SELECT l.name, b.pid FROM lease l LEFT JOIN bridge b ON b.bridge_id = l.bridge_id"
        )
        return {str(name): pids.get(pid) for name, pid in rows}  # type: ignore[call-overload]

    def until(self, true: Callable[[], bool], what: str) -> None:
        until_s = time.monotonic() + PATIENCE_S
        while not self._is(true):
            if time.monotonic() > until_s:
                logs = [self.log(number).read_text()[-2000:] for number in range(len(self.started))]
                pytest.fail(f"waited in vain until {what}\n" + "\n--\n".join(logs))
            time.sleep(0.1)

    @staticmethod
    def _is(true: Callable[[], bool]) -> bool:
        with contextlib.suppress(Exception):  # tables that are not there yet
            return true()
        return False

    def until_shared(self, *numbers: int) -> None:
        """Until everything is served, and by these."""
        self.until(lambda: set(self.owners().values()) == set(numbers), f"{numbers} serve everything")

    def drop(self, order: DemoOrder) -> None:
        drop = self.shop / "hotfolders" / "mis" / "drop"
        (drop / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
        (drop / f".{order.file_name}").write_bytes(ticket(order))
        (drop / f".{order.file_name}").rename(drop / order.file_name)

    def given(self) -> list[str]:
        """JobIDs of what lies in the lanes for the presses, each as often as it lies there."""
        jobs = dict(run_sql(self.address, "SELECT queue_entry_id, job_id FROM job"))
        found = [path.stem for path in self.shop.glob("lanes/*/in/*.jdf")]
        return sorted(str(jobs[name]) for name in found)


@pytest.fixture
def bridges(shop: Path, address: str) -> Iterator[Bridges]:
    made = Bridges(shop, address)
    yield made
    for bridge in made.started:
        bridge.send_signal(signal.SIGCONT)
        bridge.kill()
        bridge.wait()


@pytest.mark.timeout(240)
def test_two_share_the_work_and_one_takes_over_when_the_other_is_killed(bridges: Bridges) -> None:
    first = bridges.start()
    bridges.until_shared(0)
    bridges.start()
    bridges.until_shared(0, 1)
    bridges.drop(BANNER)
    bridges.until(lambda: bridges.given() == [BANNER.job_id], "the banner lies at its lane")

    first.kill()
    bridges.drop(CANVAS)
    bridges.until_shared(1)
    bridges.until(lambda: bridges.given() == sorted([BANNER.job_id, CANVAS.job_id]), "the canvas is there")

    assert bridges.said(1, "bridge.dead")
    shown = CliRunner().invoke(main, ["bridges", "--shop", str(bridges.shop)])
    assert shown.exit_code == 0, shown.output
    assert "lane HL-P1-A" in shown.output


@pytest.mark.timeout(240)
def test_what_a_killed_bridge_had_claimed_is_taken_in_by_the_other(bridges: Bridges) -> None:
    claimed = bridges.shop / "hotfolders" / "mis" / "claimed"
    art = bridges.shop / "hotfolders" / "mis" / "drop" / "art"
    (art / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
    bridges.start()
    bridges.until_shared(0)

    # As a bridge leaves it that dies between its rename and its first commit, after this one has taken over.
    (claimed / f"20261120T091500-abcdef-000001-1~{BANNER.file_name}").write_bytes(ticket(BANNER))

    bridges.until(lambda: bridges.given() == [BANNER.job_id], "the banner lies at its lane")


@pytest.mark.timeout(240)
def test_a_bridge_that_stood_still_too_long_stops_before_it_writes(bridges: Bridges) -> None:
    slow = bridges.start()
    bridges.until_shared(0)
    bridges.until(lambda: bridges.said(0, "ready"), "it has begun everything it serves")
    slow.send_signal(signal.SIGSTOP)
    bridges.start()
    bridges.until_shared(1)
    bridges.drop(BANNER)
    bridges.until(lambda: bridges.given() == [BANNER.job_id], "the banner lies at its lane")

    slow.send_signal(signal.SIGCONT)

    assert slow.wait(PATIENCE_S) == 75
    assert "took over" in bridges.log(0).read_text() or "struck out" in bridges.log(0).read_text()
    assert bridges.given() == [BANNER.job_id]
    assert run_sql(bridges.address, "SELECT count(*) FROM job") == [(1,)]


@pytest.mark.timeout(240)
def test_one_that_is_stopped_in_order_hands_over_at_once(bridges: Bridges) -> None:
    first = bridges.start()
    bridges.until_shared(0)
    bridges.start()
    bridges.until_shared(0, 1)

    first.terminate()
    assert first.wait(PATIENCE_S) == 0
    bridges.until_shared(1)

    assert not bridges.said(1, "bridge.dead")


@pytest.mark.timeout(240)
def test_while_the_database_is_away_nothing_is_taken_and_when_it_is_back_the_work_goes_on(
    tmp_path: Path,
) -> None:
    with tempfile.TemporaryDirectory() as data, contextlib.ExitStack() as first_run:
        address = first_run.enter_context(own_server(Path(data))).get_uri().replace(":@", "@")
        bridges = Bridges(new_shop(tmp_path, address), address)
        with bridges.start() as bridge, contextlib.ExitStack() as at_the_end:
            at_the_end.callback(bridge.kill)
            bridges.until(lambda: bridges.said(0, "ready"), "it is ready")
            first_run.close()
            bridges.until(
                lambda: bridges.said(0, "the flow stands still"), "it sees that the database is away"
            )
            bridges.drop(BANNER)
            bridges.until(
                lambda: bridges.said(0, "intake mis takes nothing"), "it says that it takes nothing"
            )
            time.sleep(2)  # four looks
            assert (bridges.shop / "hotfolders" / "mis" / "drop" / BANNER.file_name).exists()

            with own_server(Path(data)):
                bridges.until(lambda: bridges.given() == [BANNER.job_id], "the banner lies at its lane")
                bridge.terminate()
                assert bridge.wait(PATIENCE_S) == 0
