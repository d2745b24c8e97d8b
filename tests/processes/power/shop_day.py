"""A short day at a shop, to be watched from outside: an order desk, a real bridge, and a press that takes with care.

    python -m tests.processes.power.shop_day HOUSE PORT

HOUSE/shop is a made shop. Tickets come one by one, then at once, then one by message; the end is a usual stop.
Everything that happens on the disk is done by this process and the bridge that it starts.
"""

import os
import re
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from tests.benchmarks.tickets import ticket
from tests.unit.daemon.http.office import submission
from ticketbridge.demo.orders import ORDERS

ONE_BY_ONE = 2
AT_ONCE = 4
BY_MESSAGE = 1
WAIT_S = 240.0
"""A bridge under a tracer on a busy machine is slow."""
MESSAGES_SETTLE_S = 1.5


class Press:
    """Takes tickets out of its folders, and prints only what it has made durable as taken."""

    def __init__(self, house: Path) -> None:
        self._lanes = sorted((house / "shop" / "lanes").glob("*/in"))
        self._taken = house / "taken"
        self.count = 0

    def look(self) -> None:
        """Take what lies there."""
        for lane in self._lanes:
            for name in sorted(os.listdir(lane)):
                if not name.startswith(".") and name.endswith(".jdf"):
                    os.rename(lane / name, self._taken / name)
                    _sync(self._taken)
                    _sync(lane)
                    self.count += 1


def _sync(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    os.fsync(descriptor)
    os.close(descriptor)


def until(what: str, press: Press, *, taken: int) -> None:
    """Let the press work until it has taken so many."""
    until_s = time.monotonic() + WAIT_S
    while press.count < taken:
        press.look()
        if time.monotonic() > until_s:
            sys.exit(f"{what}: the press has {press.count} of {taken} tickets")
        time.sleep(0.02)


def drop(folder: Path, number: int) -> None:
    """As offices do it: written beside, then renamed. Every other one is a careful office and syncs, too."""
    temporary = folder / f".order-{number:06d}.jdf.tmp"
    with temporary.open("wb") as file:
        file.write(ticket(number))
        if number % 2:
            file.flush()
            os.fsync(file.fileno())
    os.rename(temporary, folder / f"order-{number:06d}.jdf")
    if number % 2:
        _sync(folder)


def submit(port: int) -> None:
    """One order by message."""
    body, kind = submission(ORDERS[0])
    address = f"http://127.0.0.1:{port}/jmf"
    request = urllib.request.Request(address, body, {"Content-Type": kind})
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request, timeout=WAIT_S) as answer:
        if b'ReturnCode="0"' not in answer.read():
            sys.exit("the submission was refused")


def main(house: Path, port: int) -> None:
    """Play it."""
    log = house.parent / "run.log"
    command = [sys.executable, "-m", "ticketbridge", "run", "--shop", str(house / "shop"), "--stop-at-eof"]
    with log.open("wb") as output:
        bridge = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=output, stderr=output)
    until_s = time.monotonic() + WAIT_S
    while not re.search(rb'^ready$|"event": "ready"', log.read_bytes(), re.MULTILINE):
        if bridge.poll() is not None or time.monotonic() > until_s:
            sys.exit(f"the bridge did not start: {log.read_text()[-2000:]}")
        time.sleep(0.05)
    press, source = Press(house), house / "shop" / "hotfolders" / "mis" / "drop"
    for number in range(ONE_BY_ONE):
        drop(source, number)
        until("one by one", press, taken=number + 1)
    time.sleep(MESSAGES_SETTLE_S)
    for number in range(ONE_BY_ONE, ONE_BY_ONE + AT_ONCE):
        drop(source, number)
    until("at once", press, taken=ONE_BY_ONE + AT_ONCE)
    submit(port)
    until("by message", press, taken=ONE_BY_ONE + AT_ONCE + BY_MESSAGE)
    time.sleep(MESSAGES_SETTLE_S)
    assert bridge.stdin is not None
    bridge.stdin.close()
    bridge.wait(WAIT_S)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
