"""A watch over reading: documents are read in a child of little memory, which tells of crashes, hangs and growth."""

import itertools
import mmap
import os
import pickle
import resource
import signal
import struct
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final, Protocol

from tests.fuzz.documents import Document

MEMORY_BYTES: Final = 1 << 30
GROWTH_BYTES: Final = 64 << 20
WARM_UP: Final = 1000
"""Documents until caches are as full as they get."""
FIRST_USE: Final = 100
"""Documents until every library is loaded; the time that takes is no document's."""


class Trial(Protocol):
    """What is tried.

    Attributes:
        hang_s: Most processor time of one document; of a busy machine's clock it may be more.
    """

    hang_s: float

    def document(self, number: int) -> Document:
        """The document of this number, after what was learned up to it."""

    def read(self, document: Document) -> Any:
        """Read it, and raise only where the reading is at fault. Returns what is to be learned from it, or None."""

    def learn(self, news: Any) -> None:
        """What a child learned that was ended by its last document."""


@dataclass(frozen=True)
class Fault:
    """A document that broke something."""

    number: int
    document: Document
    what: str


class Ledger:
    """Figures that outlive a child: which document it is at, the slowest one, and how much memory has grown."""

    _FORM: Final = struct.Struct("QQdq")

    def __init__(self) -> None:
        self._page = mmap.mmap(-1, self._FORM.size)
        self.at = self.slowest = self.grown_bytes = 0
        self.slowest_s = 0.0

    def write(self) -> None:
        self._page[:] = self._FORM.pack(self.at, self.slowest, self.slowest_s, self.grown_bytes)

    def read(self) -> None:
        self.at, self.slowest, self.slowest_s, self.grown_bytes = self._FORM.unpack(self._page)


def faults(
    trial: Trial, ledger: Ledger, count: int | None, first: int = 0, minutes: float | None = None
) -> Iterator[Fault]:
    """Read so many documents, or for so long; a child that ends is followed by another behind the document that ended it."""
    until_s = None if minutes is None else time.monotonic() + 60 * minutes
    numbers: Any = itertools.count(first) if count is None else range(first, first + count)
    ledger.at = first
    while True:
        what = _child(trial, ledger, numbers, until_s)
        ledger.read()
        if what is None:
            return
        yield Fault(ledger.at, trial.document(ledger.at), what)
        after = ledger.at + 1
        numbers = itertools.count(after) if count is None else range(after, first + count)


def _child(trial: Trial, ledger: Ledger, numbers: Any, until_s: float | None) -> str | None:
    """Read these in a child until one breaks it; None where none did."""
    hear, tell = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(hear)
        _limit()
        with os.fdopen(tell, "wb") as pipe:
            try:
                _read_all(trial, ledger, numbers, until_s, pipe)
            except BaseException:
                pickle.dump(("fault", traceback.format_exc()[-4000:]), pipe)
                pipe.flush()
                os._exit(1)
        os._exit(0)
    os.close(tell)
    text = ""
    with os.fdopen(hear, "rb") as said:
        for kind, news in _said(said):
            if kind == "news":
                trial.learn(news)
            else:
                text = news
    _, status = os.waitpid(pid, 0)
    if status == 0:
        return None
    if os.WIFSIGNALED(status):
        ended_by = signal.Signals(os.WTERMSIG(status)).name
        return f"more than {trial.hang_s} s" if ended_by == "SIGPROF" else f"ended by {ended_by}"
    return text


def _said(pipe: IO[bytes]) -> Iterator[tuple[str, Any]]:
    while True:
        try:
            yield pickle.load(pipe)
        except (EOFError, pickle.UnpicklingError):  # it ended, perhaps in the middle of a word
            return


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGPROF, signal.SIG_DFL)  # by the kernel, also in the middle of a library's loop


def _read_all(trial: Trial, ledger: Ledger, numbers: Any, until_s: float | None, pipe: IO[bytes]) -> None:
    resident = 0
    for done, number in enumerate(numbers):
        if until_s is not None and time.monotonic() > until_s:
            return
        ledger.at = number
        ledger.write()
        document = trial.document(number)
        begun_s = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, trial.hang_s)
        news = trial.read(document)
        signal.setitimer(signal.ITIMER_PROF, 0)
        took_s = time.process_time() - begun_s
        if took_s > ledger.slowest_s and done >= FIRST_USE:
            ledger.slowest, ledger.slowest_s = number, took_s
        if news is not None:
            pickle.dump(("news", news), pipe)
            pipe.flush()
        if done == WARM_UP:
            resident = _resident_bytes()
        elif resident and done % 500 == 0:
            ledger.grown_bytes = _resident_bytes() - resident
            if ledger.grown_bytes > GROWTH_BYTES:
                raise MemoryError(f"{ledger.grown_bytes >> 20} MiB more than after {WARM_UP} documents")
    ledger.write()


def _resident_bytes() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize()
