"""The gate of one share: it knows which calls are still out, and refuses more until the last overdue one is back."""

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from queue import SimpleQueue
from typing import Any, Final, TypeVar

T = TypeVar("T")

ANSWER_S: Final = 15.0
"""A share that has not answered a call for so long hangs: longer than a disk takes to spin up, short enough that
everybody else can wait for it once."""
AT_ONCE: Final = 4
"""Calls that one share is given at a time; more keep no usual disk busier."""
LOOK_S: Final = 0.25


class ShareHangs(OSError):
    """The share does not answer. What was asked of it may still happen, and has not by the time this is told."""

    def __init__(self, share: str, folder: Path, seconds: float) -> None:
        super().__init__(f"{folder} has not answered for {seconds:.0f} s: its share hangs")
        self.share = share


@dataclass(slots=True)
class Out:
    """A call that has not come back."""

    thread: str
    patient: bool
    since_s: float


@dataclass(slots=True)
class Gate:
    """The one way to a share.

    Attributes:
        share: What it serves, such as ``lane HL-P1-A``.
        folder: For people.
        answer_s: So long a call may be out.
    """

    share: str
    folder: Path
    answer_s: float = ANSWER_S
    _out: dict[int, Out] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _work: "SimpleQueue[tuple[Future[Any], Callable[[], Any]]]" = field(default_factory=SimpleQueue)
    _handed_on: int = 0
    _threads: int = 0

    def overdue_s(self) -> float:
        """How long the oldest overdue call has been out, in seconds; 0 where none is overdue."""
        with self._lock:
            oldest_s = min((out.since_s for out in self._out.values()), default=None)
        out_s = 0.0 if oldest_s is None else time.monotonic() - oldest_s
        return out_s if out_s > self.answer_s else 0.0

    def held(self) -> set[str]:
        """The patient threads that have a call out."""
        with self._lock:
            return {out.thread for out in self._out.values() if out.patient}

    def refuse_if_overdue(self) -> None:
        """Ask nothing of a share that still owes an answer.

        Raises:
            ShareHangs: It does.
        """
        overdue_s = self.overdue_s()
        if overdue_s:
            raise ShareHangs(self.share, self.folder, overdue_s)

    @contextmanager
    def call(self, *, patient: bool) -> Iterator[None]:
        """A call of this thread, for as long as it lasts."""
        out = Out(threading.current_thread().name, patient, time.monotonic())
        with self._lock:
            self._out[id(out)] = out
        here.calls.append((self, out))
        try:
            yield
        finally:
            here.calls.pop()
            with self._lock:
                del self._out[id(out)]

    def hand_on(self, works: Sequence[Callable[[], T]]) -> list[T]:
        """Have calls made by the threads of this gate, and wait for all of them.

        Raises:
            ShareHangs: One of them is overdue. Those that had not begun never will.
        """
        futures: list[Future[T]] = [Future() for _ in works]
        self._staff(len(works))
        for future, work in zip(futures, works, strict=True):
            self._work.put((future, work))
        for future in futures:
            while not _is_over(future):
                overdue_s = self.overdue_s()
                if overdue_s:
                    for other in futures:
                        other.cancel()
                    raise ShareHangs(self.share, self.folder, overdue_s)
        return [future.result() for future in futures]

    def _staff(self, works: int) -> None:
        """Threads of our own, as an executor's would be waited for when the program ends."""
        with self._lock:
            self._handed_on += works
            more = max(0, min(self._handed_on, AT_ONCE) - self._threads)
            self._threads += more
        for _ in range(more):
            threading.Thread(target=self._serve, name=f"gate {self.share}", daemon=True).start()

    def _serve(self) -> None:
        while True:
            future, work = self._work.get()
            if future.set_running_or_notify_cancel():
                try:
                    with self.call(patient=False):
                        done = work()
                except BaseException as error:
                    future.set_exception(error)
                else:
                    future.set_result(done)
            with self._lock:
                self._handed_on -= 1


class Here(threading.local):
    """What this thread is, and what it has out."""

    def __init__(self) -> None:
        self.patient = False
        self.calls: list[tuple[Gate, Out]] = []


here = Here()


def _is_over(future: "Future[Any]") -> bool:
    try:
        future.exception(timeout=LOOK_S)
    except TimeoutError:
        return False
    return True
