"""Work shared with child processes, as the threads of one Python process keep one processor busy.

Nothing depends on a child: what one has not done, for whatever reason, is done by whoever asked.
"""

import gc
import os
import pickle
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, Generic, ParamSpec, TypeVar

from ticketbridge.extract.apart import Apart
from ticketbridge.extract.shared_work import SharedWork

Arguments = ParamSpec("Arguments")
Asked = TypeVar("Asked")
Given = TypeVar("Given")

CHUNK: Final = 8
"""Pieces of work handed over together: what they have in common is sent once."""
LIMIT_S: Final = 30.0
"""A call that takes longer is given up, and done by whoever asked."""
MOST_CHILDREN: Final = 3
LOOKED_THROUGH_AT: Final = 20_000
"""New objects after which the youngest are looked through for garbage; Python's own number is 700."""


@dataclass(frozen=True, slots=True)
class Once(Generic[Given]):
    """A value that goes with many calls: pickled once here, and looked at once in a child."""

    _pickled: bytes

    @classmethod
    def of(cls, value: Given) -> "Once[Given]":
        """The value, ready to be sent."""
        return cls(pickle.dumps(value))

    @property
    def value(self) -> Given:
        """The value, as the child has it."""
        value: Given = _unpickled(self._pickled)
        return value


@lru_cache(maxsize=4)
def _unpickled(pickled: bytes) -> Any:
    return pickle.loads(pickled)  # noqa: S301  our own parent wrote it


def chunks_of(items: Sequence[Asked], hands: int = 1) -> list[Sequence[Asked]]:
    """The items in chunks, in order; of few items smaller ones, so that all of so many hands have something to do."""
    size = max(1, min(CHUNK, -(-len(items) // hands)))
    return [items[start : start + size] for start in range(0, len(items), size)]


def spare_processors() -> int:
    """How many processors this process may use besides the one that it keeps busy by itself."""
    return min(len(os.sched_getaffinity(0)) - 1, MOST_CHILDREN)


class Beside:
    """Child processes, each with two threads that talk to it: one for what is wanted now, one for what can wait.

    The two take turns, so that neither waits until the other has nothing left. Children are started when there is
    first much to do.

    Args:
        children: How many; with none everything is done in this process.
        prepare: Called in each child before it is asked for anything else: loads what takes long.
    """

    def __init__(self, children: int = 0, prepare: Callable[[], None] = lambda: None) -> None:
        self._children = [Apart() for _ in range(children)]
        self._prepare = prepare
        self._own = threading.local()
        self._now: ThreadPoolExecutor | None = None
        self._later: ThreadPoolExecutor | None = None
        self._prepared: list[Future[None]] = []

    @property
    def ready(self) -> bool:
        """Whether children can be asked now. Whoever asks this first has them started, and need not wait for them."""
        if self._children and self._now is None:
            self._now, self._later = self._threads("now"), self._threads("later")
            self._prepared = [self._now.submit(self.call, _get_ready, self._prepare) for _ in self._children]
        return bool(self._prepared) and all(one.done() for one in self._prepared)

    def _threads(self, name: str) -> ThreadPoolExecutor:
        mine = iter(self._children)

        def take_one() -> None:
            self._own.child = next(mine)

        return ThreadPoolExecutor(len(self._children), f"beside {name}", take_one)

    def begin(
        self, function: Callable[Arguments, Given], /, *args: Arguments.args, **named: Arguments.kwargs
    ) -> "Future[Given]":
        """Call a function of this process that can wait, in a thread that may ask a child in it by ``call``.

        Only while children are ready.
        """
        assert self._later is not None  # noqa: S101
        return self._later.submit(function, *args, **named)

    def call(
        self, function: Callable[Arguments, Given], /, *args: Arguments.args, **named: Arguments.kwargs
    ) -> Given:
        """What a child gives for a call, from one of the threads that talk to children. Everything is pickled.

        Raises:
            TookTooLong: The child ended, or did not answer in time.
        """
        child: Apart = self._own.child
        return child.call(LIMIT_S, function, *args, **named)

    def share(
        self, function: Callable[[Sequence[Asked]], Sequence[Given]], items: Sequence[Asked]
    ) -> list[Given]:
        """What a function gives for each item. Children take chunks from the end, this thread from the front.

        Nothing that a child was asked for goes on once this has ended, however it ends.

        Args:
            function: Takes a chunk and gives as many; pickled for a child.
            items: What it is asked for; what it raises for one of them is raised here.
        """
        work: SharedWork[Sequence[Asked], Sequence[Given]] = SharedWork(chunks_of(items))

        def help_out() -> None:
            # First the child's turn, then a chunk: nobody shall wait for one whose child is at something else.
            with self._own.child.turn():
                work.help(lambda chunk: self.call(function, chunk))

        helping = []
        if len(items) > CHUNK and self.ready and self._now is not None:
            helping = [self._now.submit(help_out) for _ in self._children]
        try:
            work.do(function)
        finally:
            for one in helping:
                one.cancel()
        return [given for chunk in work.all_given(function) for given in chunk]

    def close(self) -> None:
        """End the children. What they are at is finished first."""
        for threads in (self._now, self._later):
            if threads is not None:
                threads.shutdown(cancel_futures=True)
        for child in self._children:
            child.close()


def _get_ready(prepare: Callable[[], None]) -> None:
    """In a child, before it is asked for anything."""
    prepare()
    keep_for_good()


def keep_for_good() -> None:
    """What is in memory now stays there: the collector of garbage need not go through all modules again and again.

    It may also come less often than to a small program: it took a twentieth of the processor's time in a burst, and
    found nothing in three thousand tickets.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(LOOKED_THROUGH_AT)
