"""The program around the press: lock, signals, standard input, exit codes."""

import os
import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Final

from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.http.server import spoken_to
from ticketbridge.press_sim.jsonl import Damaged
from ticketbridge.press_sim.places import AlreadyRunning, Places
from ticketbridge.press_sim.settings import SettingsProblem, read_settings
from ticketbridge.press_sim.simulator import Simulator

DONE: Final = 0
FAILED: Final = 1
UNUSABLE: Final = 2
LOCKED: Final = 3


def run(
    folder: Path, *, clock_factor: float = 1.0, until_idle_s: float | None = None, stop_at_eof: bool = False
) -> int:
    """Run a simulated press until it is told to stop; what it was doing is taken up at the next start.

    Args:
        folder: Where ``press.yaml`` lies and the press keeps its state.
        clock_factor: How many times faster than a real press; 0 waits for nothing at all.
        until_idle_s: End after so many seconds of real time without work; None works on.
        stop_at_eof: End when standard input closes, so that the press ends with the program that started it.

    Returns:
        Exit code: 0 stopped or idle, 1 a folder or file failed, 2 ``press.yaml`` cannot be used, 3 another
        simulated press works on the folder.
    """
    stop = threading.Event()
    on_stop_signals(stop.set)
    if stop_at_eof:
        threading.Thread(target=_stop_at_eof, args=(stop,), daemon=True).start()
    try:
        press = read_settings(folder)
        with Places(folder, press) as places:
            clock = Clock()
            simulator = Simulator(press, places, clock, clock_factor)
            with spoken_to(press, places, simulator, clock):
                simulator.work(stop, until_idle_s)
    except SettingsProblem as problem:
        return _tell(problem, UNUSABLE)
    except AlreadyRunning as problem:
        return _tell(problem, LOCKED)
    except (Damaged, OSError) as problem:
        return _tell(problem, FAILED)
    return DONE


def on_stop_signals(stop: Callable[[], None]) -> None:
    """Have TERM and INT call a function in another thread: a handler may interrupt the wait that it is to end."""
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: threading.Thread(target=stop, daemon=True).start())


def _tell(problem: Exception, exit_code: int) -> int:
    print(f"press-sim: {problem}", file=sys.stderr)
    return exit_code


def _stop_at_eof(stop: threading.Event) -> None:
    """Read standard input to its end; by descriptor, so that no buffer is locked when the program ends."""
    while os.read(0, 4096):
        pass
    stop.set()
