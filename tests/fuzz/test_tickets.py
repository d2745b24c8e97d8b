"""Spoiled documents by the thousand, those that once found a fault, and that the watch over them is awake."""

import os
import signal
import time
from collections.abc import Callable, Iterator

import pytest

from tests.fuzz.documents import SEEDS, SHARES, Document
from tests.fuzz.guided import Guided
from tests.fuzz.mutate import case
from tests.fuzz.reading import Reader
from tests.fuzz.tickets import CORPUS, Blind, a_reader, kept
from tests.fuzz.watching import MEMORY_BYTES, Ledger, faults

COUNT, GUIDED = (5000, 500) if "CI" in os.environ else (500, 150)
SEED = 20261125


@pytest.fixture(scope="module")
def reader() -> Iterator[Reader]:
    with a_reader() as reader:
        yield reader


@pytest.mark.timeout(900)
def test_no_spoiled_document_breaks_hangs_or_fills_the_reader(reader: Reader) -> None:
    assert list(faults(Blind(reader, SEED), Ledger(), COUNT)) == []


@pytest.mark.timeout(900)
def test_nor_does_one_that_is_led_by_what_it_reaches(reader: Reader) -> None:
    guided = Guided(reader, SEED)

    assert list(faults(guided, Ledger(), GUIDED)) == []
    assert len(guided.arcs) > 3000


def test_every_way_in_gets_its_share() -> None:
    assert SHARES.keys() == SEEDS.keys()
    assert {case(number, SEED).name for number in range(500)} == SEEDS.keys()


@pytest.mark.parametrize(
    "name", [name for name in SEEDS if name not in ("mis.jdf", "message.jmf", "package.mime")]
)
def test_what_is_sound_is_taken(reader: Reader, name: str) -> None:
    """Else nothing that is spoiled would come further than the door."""
    assert [reader.read(Document(name, data)) for data in SEEDS[name]] == ["taken"] * len(SEEDS[name])


@pytest.mark.parametrize(
    "file", sorted(path.name for path in CORPUS.iterdir() if not path.name.startswith("."))
)
def test_a_document_that_once_found_a_fault_finds_none(reader: Reader, file: str) -> None:
    reader.read(kept(CORPUS / file))


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
    ledger = Ledger()

    found = list(faults(Blind(Weak(how), 1), ledger, 6))

    assert [fault.number for fault in found] == [2]
    assert what in found[0].what
    assert ledger.at == 5


class Growing:
    """Keeps what it reads, a hundred times over."""

    def __init__(self) -> None:
        self._kept: list[bytearray] = []

    def read(self, _document: Document) -> None:
        self._kept.append(bytearray(200_000))


def test_memory_that_grows_is_a_fault() -> None:
    [fault] = faults(Blind(Growing(), 1), Ledger(), 1900)

    assert "MiB more" in fault.what
