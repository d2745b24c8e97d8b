"""Spoiled tickets, orders, messages and packages through the real reading, blindly, each by its number alone.

    python -m tests.fuzz.tickets --count 200000 --seed 7

What finds a fault is written to ``tests/fuzz/corpus`` under its number, to be replayed by a test ever after.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, Protocol

from tests.fuzz.documents import Document
from tests.fuzz.mutate import case
from tests.fuzz.reading import Reader
from tests.fuzz.watching import Fault, Ledger, Trial, faults

CORPUS: Final = Path(__file__).parent / "corpus"
IN_MEMORY: Final = Path("/dev/shm")


class Reads(Protocol):
    """Something that reads documents, and raises only where it is at fault."""

    def read(self, document: Document) -> None: ...


class Blind:
    """Each document is a sound one, spoiled."""

    hang_s = 2.0

    def __init__(self, reader: Reads, seed: int) -> None:
        self._reader = reader
        self._seed = seed

    def document(self, number: int) -> Document:
        return case(number, self._seed)

    def read(self, document: Document) -> None:
        self._reader.read(document)

    def learn(self, news: object) -> None:
        """Nothing is learned from one for the next."""


@contextmanager
def a_reader() -> Iterator[Reader]:
    """A shop in memory, where there is room for one: what is synced there costs nothing."""
    with tempfile.TemporaryDirectory(dir=IN_MEMORY if IN_MEMORY.is_dir() else None) as folder:
        yield Reader(Path(folder) / "shop")


def keep(fault: Fault, seed: int) -> Path:
    """The document in the corpus."""
    file = CORPUS / f"{seed}-{fault.number}.{fault.document.name}"
    file.write_bytes(fault.document.data)
    return file


def kept(file: Path) -> Document:
    """A document of the corpus."""
    return Document(file.name.partition(".")[2], file.read_bytes())


def run(trial: Trial, seed: int, count: int | None, first: int = 0, minutes: float | None = None) -> None:
    """Run to the end, telling of each fault; leaves the program with 1 where there was one."""
    ledger, found = Ledger(), 0
    for fault in faults(trial, ledger, count, first, minutes):
        found += 1
        print(f"{keep(fault, seed).name}: {fault.what}\n", flush=True)
    read = ledger.at + 1 - first
    print(
        f"{read} documents, {found} faults; slowest: number {ledger.slowest} with {ledger.slowest_s:.3f} s of processor "
        f"time; memory grown by {ledger.grown_bytes / 2**20:.1f} MiB since the first thousand"
    )
    if found:
        sys.exit(1)


def main() -> None:
    words = argparse.ArgumentParser(prog="python -m tests.fuzz.tickets", description=__doc__.splitlines()[0])
    words.add_argument("--count", type=int, default=5000)
    words.add_argument("--seed", type=int, default=7)
    words.add_argument("--first", type=int, default=0, help="the first number, to go on from there")
    asked = words.parse_args()
    with a_reader() as reader:
        run(Blind(reader, asked.seed), asked.seed, asked.count, asked.first)


if __name__ == "__main__":
    main()
