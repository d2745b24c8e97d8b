"""Spoiled tickets and messages through the real reading, in a child of little memory: crashes, hangs, growth.

    python -m tests.fuzz.tickets --count 200000 --seed 7

What finds a fault is written to ``tests/fuzz/corpus`` under its number, to be replayed by a test ever after.
"""

import argparse
import mmap
import os
import resource
import signal
import sys
import tempfile
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tests.fuzz.mutate import Document, case
from tests.fuzz.reading import Reader

CORPUS = Path(__file__).parent / "corpus"
MEMORY_BYTES = 1 << 30
HANG_S = 2.0
"""Processor time of one document. Of a busy machine's clock it may be more."""
GROWTH_BYTES = 64 << 20
WARM_UP = 500
"""Documents until caches are as full as they get."""


@dataclass(frozen=True)
class Fault:
    """A document that broke something."""

    number: int
    what: str


class Reads(Protocol):
    """What is tried: it reads a document, and raises only where it is at fault."""

    def read(self, document: Document) -> None: ...


def faults(reader: Reads, count: int, seed: int, first: int = 0) -> Iterator[Fault]:
    """Read so many documents; a child that ends is followed by another behind the document that ended it."""
    with mmap.mmap(-1, 8) as at:
        end = first + count
        while first < end:
            fault = _child(reader, range(first, end), seed, at)
            if fault is not None:
                yield fault
            first = int.from_bytes(at[:8]) + 1


def _child(reader: Reads, numbers: range, seed: int, at: mmap.mmap) -> Fault | None:
    """Read these in a child until one breaks it; None where none did."""
    hear, tell = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(hear)
        _limit()
        try:
            _read_all(reader, numbers, seed, at)
        except BaseException:
            os.write(tell, traceback.format_exc()[-4000:].encode())
            os._exit(1)
        os._exit(0)
    os.close(tell)
    with os.fdopen(hear, "rb") as said:
        text = said.read().decode()
    _, status = os.waitpid(pid, 0)
    if status == 0:
        return None
    if os.WIFSIGNALED(status):
        ended_by = signal.Signals(os.WTERMSIG(status)).name
        text = f"more than {HANG_S} s" if ended_by == "SIGPROF" else f"ended by {ended_by}"
    return Fault(int.from_bytes(at[:8]), text)


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGPROF, signal.SIG_DFL)  # by the kernel, also in the middle of a library's loop


def _read_all(reader: Reads, numbers: range, seed: int, at: mmap.mmap) -> None:
    resident = 0
    for number in numbers:
        at[:8] = number.to_bytes(8)
        document = case(number, seed)
        signal.setitimer(signal.ITIMER_PROF, HANG_S)
        reader.read(document)
        signal.setitimer(signal.ITIMER_PROF, 0)
        if number == numbers[0] + WARM_UP:
            resident = _resident_bytes()
        elif resident and number % 1000 == 0 and _resident_bytes() > resident + GROWTH_BYTES:
            grown_mib = (_resident_bytes() - resident) >> 20
            raise MemoryError(f"{grown_mib} MiB more than after {WARM_UP} documents")


def _resident_bytes() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize()


def main() -> None:
    words = argparse.ArgumentParser(prog="python -m tests.fuzz.tickets", description=__doc__.splitlines()[0])
    words.add_argument("--count", type=int, default=5000)
    words.add_argument("--seed", type=int, default=7)
    words.add_argument("--first", type=int, default=0, help="the first number, to go on from there")
    asked = words.parse_args()
    found = 0
    with tempfile.TemporaryDirectory() as folder:
        for fault in faults(Reader(Path(folder) / "shop"), asked.count, asked.seed, asked.first):
            found += 1
            ending, data = case(fault.number, asked.seed)
            file = CORPUS / f"{asked.seed}-{fault.number}{ending}"
            file.write_bytes(data)
            print(f"{file.name}: {fault.what}\n", flush=True)
    print(f"{asked.count} documents, {found} faults")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
