"""The demo's course: start the bridge and the presses, drop the tickets, wait, stop, verify, tell."""

import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from ticketbridge.demo.house import House, prepare
from ticketbridge.demo.orders import FILES
from ticketbridge.demo.sink import Sink
from ticketbridge.demo.verify import Seen, complaints, is_over, look, story
from ticketbridge.spool import durable

CLOCK_FACTOR = 400
"""The presses' clocks run this much faster: an hour of printing in nine seconds."""
LIMIT_S = 100.0
LOOK_S = 0.25


def play(folder: Path, say: Callable[[str], None]) -> int:
    """Run the demo in a folder; goes on where an earlier one in the same folder was cut off.

    Returns:
        0 where everything came out as it should, else 1.
    """
    with ExitStack() as stack:
        in_one_go = not (folder / "harbourlight").exists()
        sink = Sink(folder / "harbourlight" / "mis-received")
        house = prepare(folder, sink.url)
        sink.start()
        stack.callback(sink.stop)
        say(f"The shop is in {house.shop}.")
        logged = _log_size(house)
        programs = _start(house)
        try:
            _until_ready(house, programs, logged)
            say(
                f"The bridge and {len(house.presses)} simulated presses run, clocks {CLOCK_FACTOR} times as fast."
            )
            _drop(house, say)
            seen = _wait(house, programs)
        finally:
            _stop(programs)
    seen = look(house)
    say(story(seen))
    wrong = complaints(house, seen, in_one_go=in_one_go)
    for line in wrong:
        say(f"WRONG: {line}")
    if not wrong:
        say("Verified: every file in one place, every piece printed once, every message in order.")
    return 1 if wrong else 0


def _start(house: House) -> list[subprocess.Popen[bytes]]:
    """The bridge and the presses as processes of their own. They end when this one does: their input closes."""
    program = [sys.executable, "-m", "ticketbridge"]
    commands = [[*program, "run", "--shop", str(house.shop), "--stop-at-eof"]]
    commands += [
        [
            *program,
            "press-sim",
            str(house.press(press_id)),
            "--clock-factor",
            str(CLOCK_FACTOR),
            "--stop-at-eof",
        ]
        for press_id in house.presses
    ]
    programs: list[subprocess.Popen[bytes]] = []
    for command in commands:
        with (house.folder / f"{command[3]}-{len(programs)}.log").open("ab") as log:
            programs.append(subprocess.Popen(command, stdin=subprocess.PIPE, stdout=log, stderr=log))
    return programs


def _log_size(house: House) -> int:
    """Bytes that earlier runs have written into the bridge's log."""
    return house.bridge_log.stat().st_size if house.bridge_log.exists() else 0


def _until_ready(house: House, programs: list[subprocess.Popen[bytes]], logged: int) -> None:
    """Wait until the bridge watches its folders, so that files are taken in the order in which they are dropped."""
    until_s = time.monotonic() + LIMIT_S
    while b'"ready"' not in house.bridge_log.read_bytes()[logged:] and time.monotonic() < until_s:
        if any(program.poll() is not None for program in programs):
            return
        time.sleep(LOOK_S)


def _drop(house: House, say: Callable[[str], None]) -> None:
    """One rename for each file that is not dropped yet."""
    for file_name, order in FILES.items():
        waiting = house.to_drop / file_name
        if waiting.exists():
            durable.move(waiting, house.source(order.source).drop / file_name)
            say(f"Dropped {file_name}")


def _wait(house: House, programs: list[subprocess.Popen[bytes]]) -> Seen:
    until_s = time.monotonic() + LIMIT_S
    seen = look(house)
    while not is_over(house, seen) and time.monotonic() < until_s:
        if any(program.poll() is not None for program in programs):
            break
        time.sleep(LOOK_S)
        seen = look(house)
    return seen


def _stop(programs: list[subprocess.Popen[bytes]]) -> None:
    for program in programs:
        if program.stdin is not None:
            program.stdin.close()
    for program in programs:
        try:
            program.wait(20)
        except subprocess.TimeoutExpired:
            program.kill()
            program.wait()
