"""Spoiled documents by the thousand, those that once found a fault, and that the watch over them is awake."""

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.fuzz.mutate import Document, case
from tests.fuzz.reading import Reader
from tests.fuzz.tickets import CORPUS, MEMORY_BYTES, faults

COUNT = 5000 if "CI" in os.environ else 500


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Reader:
    return Reader(tmp_path_factory.mktemp("fuzz") / "shop")


@pytest.mark.timeout(900)
def test_no_spoiled_document_breaks_hangs_or_fills_the_reader(reader: Reader) -> None:
    assert list(faults(reader, COUNT, seed=20261125)) == []


@pytest.mark.parametrize(
    "file", sorted(path.name for path in CORPUS.iterdir() if not path.name.startswith("."))
)
def test_a_document_that_once_found_a_fault_finds_none(reader: Reader, file: str) -> None:
    reader.read((Path(file).suffix, (CORPUS / file).read_bytes()))


class Weak:
    """Breaks at the third document."""

    def __init__(self, how: Callable[[], object]) -> None:
        self._how = how
        self._third = case(2, 1)

    def read(self, document: Document) -> None:
        if document == self._third:
            self._how()


def _for_ever() -> None:
    while True:
        time.monotonic()


@pytest.mark.parametrize(
    ("how", "what"),
    [
        (lambda: 1 / 0, "ZeroDivisionError"),
        (_for_ever, "more than 2.0 s"),
        (lambda: bytearray(2 * MEMORY_BYTES), "MemoryError"),
        (lambda: os.kill(os.getpid(), signal.SIGKILL), "ended by SIGKILL"),
    ],
)
def test_a_fault_is_found_at_its_document_and_the_next_are_read(how: Callable[[], object], what: str) -> None:
    found = list(faults(Weak(how), 6, seed=1))

    assert [fault.number for fault in found] == [2]
    assert what in found[0].what
