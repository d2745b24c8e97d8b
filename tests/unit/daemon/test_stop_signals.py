"""A signal ends the program, at whatever moment it comes."""

import signal
import threading
from collections.abc import Callable, Iterator

import pytest

from ticketbridge.daemon.stop_signals import on_stop_signals
from ticketbridge.press_sim import program


@pytest.fixture(autouse=True)
def handlers() -> Iterator[None]:
    before = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


@pytest.mark.parametrize("on_signals", [on_stop_signals, program.on_stop_signals], ids=["bridge", "press"])
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
@pytest.mark.timeout(20)
def test_a_signal_while_the_main_thread_is_about_to_wait_still_ends_it(
    on_signals: Callable[[Callable[[], None]], None], number: signal.Signals
) -> None:
    event = threading.Event()
    on_signals(event.set)

    with event._cond:  # as in the middle of event.wait()
        signal.raise_signal(number)

    assert event.wait(5)
