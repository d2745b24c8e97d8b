"""Spoiled documents that are spoiled further where they led to code that none reached before.

    python -m tests.fuzz.guided --minutes 20 --seed 7

The same seed and count give the same documents. What finds a fault is written to ``tests/fuzz/corpus``.
"""

import argparse
import random
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import ticketbridge
from tests.fuzz.arcs import Arcs
from tests.fuzz.documents import SEEDS, Document
from tests.fuzz.mutate import some_name, spoiled
from tests.fuzz.tickets import Reads, a_reader, run

PACKAGE: Final = Path(ticketbridge.__file__).parent
MOST_BYTES: Final = 64 * 1024
"""Of a document that is spoiled further: longer ones only take longer."""
NEWEST: Final = 20


class Guided:
    """A pool of documents for each way in, the sound ones at first; one that reaches a new arc joins it."""

    hang_s = 10.0  # under a tracer, which takes some five times as long

    def __init__(
        self,
        reader: Reads,
        seed: int,
        folder: Path = PACKAGE,
        seeds: Mapping[str, Sequence[bytes]] = SEEDS,
    ) -> None:
        self._reader = reader
        self._seed = seed
        self._pools = {name: list(documents) for name, documents in seeds.items()}
        self._sound = [Document(name, data) for name, documents in seeds.items() for data in documents]
        self.arcs = Arcs(folder)

    @property
    def joined(self) -> int:
        """How many documents joined the sound ones."""
        return sum(len(pool) for pool in self._pools.values()) - len(self._sound)

    def document(self, number: int) -> Document:
        if number < len(self._sound):
            return self._sound[number]
        chance = random.Random(f"guided {self._seed}/{number}")
        name = some_name(chance, tuple(self._pools))
        pool = self._pools[name]
        data = chance.choice(pool if chance.random() < 0.5 else pool[-NEWEST:])
        return spoiled(chance, Document(name, data), pool)

    def read(self, document: Document) -> Any:
        fresh = self.arcs.fresh_in(lambda: self._reader.read(document))
        if not fresh:
            return None
        self._join(document)
        return document, fresh

    def learn(self, news: Any) -> None:
        document, fresh = news
        self.arcs.learn(fresh)
        self._join(document)

    def _join(self, document: Document) -> None:
        pool = self._pools[document.name]
        if len(document.data) <= MOST_BYTES and document not in self._sound:
            pool.append(document.data)


def main() -> None:
    words = argparse.ArgumentParser(prog="python -m tests.fuzz.guided", description=__doc__.splitlines()[0])
    words.add_argument("--minutes", type=float, help="how long; 20 where there is no count either")
    words.add_argument("--count", type=int, help="how many documents, instead")
    words.add_argument("--seed", type=int, default=7)
    asked = words.parse_args()
    minutes = 20.0 if asked.minutes is None and asked.count is None else asked.minutes
    with a_reader() as reader:
        guided = Guided(reader, asked.seed)
        try:
            run(guided, asked.seed, asked.count, minutes=minutes)
        finally:
            print(
                f"{len(guided.arcs)} arcs reached, {guided.joined} documents joined {len(guided._sound)} sound ones"
            )


if __name__ == "__main__":
    main()
