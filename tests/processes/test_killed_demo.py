"""The demo is killed at random moments, bridge and presses too, and started again on the same folders."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.processes.checker import faults
from ticketbridge.demo.orders import FILES

ROUNDS = int(os.environ.get("TICKETBRIDGE_KILLS", "10"))
SEED = int(os.environ.get("TICKETBRIDGE_KILL_SEED", "20261125"))
LATEST_S = 5.0


def start(folder: Path) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "ticketbridge", "demo", "--dir", str(folder)]
    with (folder / "demo.log").open("ab") as log:
        return subprocess.Popen(command, stdout=log, stderr=log, start_new_session=True)


def children(pid: int) -> list[int]:
    """The processes that the demo has started."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                status = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(status[1]) == pid:
                found.append(int(entry.name))
    return sorted(found)


def kill_some(demo: subprocess.Popen[bytes], chance: random.Random) -> None:
    """Everything at once, or one of the programs while the others see it go."""
    programs = children(demo.pid)
    if chance.random() < 0.6 or not programs:
        os.killpg(demo.pid, signal.SIGKILL)
    else:
        os.kill(chance.choice(programs), signal.SIGKILL)
    demo.wait(60)


@pytest.mark.kill
@pytest.mark.processes
@pytest.mark.timeout(600)
def test_killed_at_random_and_started_again_every_accepted_piece_is_printed_exactly_once(
    tmp_path: Path,
) -> None:
    chance = random.Random(SEED)
    for _ in range(ROUNDS):
        demo = start(tmp_path)
        time.sleep(chance.uniform(0.3, LATEST_S))
        if demo.poll() is None:
            kill_some(demo, chance)

    last = start(tmp_path)
    code = last.wait(120)
    house = tmp_path / "harbourlight"

    assert code == 0, (tmp_path / "demo.log").read_text()[-4000:]
    assert faults(house, list(FILES)) == []
