"""Programs that a test starts, kills, holds still and stops."""

import contextlib
import os
import random
import signal
import socket
import subprocess
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

PATIENCE_S = 120


def free_port() -> int:
    """One that stays free while its program is dead: below those that the kernel gives to outgoing connections."""
    for port in random.SystemRandom().sample(range(20_000, 32_000), 100):
        with socket.socket() as probe, contextlib.suppress(OSError):
            probe.bind(("127.0.0.1", port))
            return port
    raise AssertionError("no port is free")


def wait_until(condition: Callable[[], bool], what: str, patience_s: float = PATIENCE_S) -> None:
    until_s = time.monotonic() + patience_s
    while not condition():
        assert time.monotonic() < until_s, f"waited in vain until {what}"
        time.sleep(0.1)


@dataclass
class Program:
    """One program; it ends with this process, whatever happens."""

    command: Sequence[str]
    log: Path
    process: "subprocess.Popen[bytes] | None" = None

    def start(self) -> None:
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(self.command, stdin=subprocess.PIPE, stdout=log, stderr=log)

    @property
    def ended(self) -> bool:
        return self.process is None or self.process.poll() is not None

    def send(self, number: signal.Signals) -> None:
        assert self.process is not None
        if not self.ended:
            os.kill(self.process.pid, number)

    def kill(self) -> None:
        self.send(signal.SIGKILL)
        assert self.process is not None
        self.process.communicate()

    def stop(self) -> int:
        assert self.process is not None
        self.send(signal.SIGCONT)
        self.send(signal.SIGTERM)
        self.process.communicate(timeout=60)
        return int(self.process.returncode)


def in_background(work: Callable[[], None], faults: list[BaseException]) -> threading.Thread:
    """A thread; what goes wrong in it is kept for whoever waits for it."""

    def run() -> None:
        try:
            work()
        except BaseException as error:
            faults.append(error)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    return thread
