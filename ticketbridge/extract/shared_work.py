"""Work that several hands share: whoever asked for it takes pieces from the front, helpers from the end."""

import threading
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Future, wait
from typing import Generic, TypeVar

Piece = TypeVar("Piece")
Given = TypeVar("Given")


class SharedWork(Generic[Piece, Given]):
    """Pieces of work, each done once, or again by whoever asked where a helper did not bring it to an end.

    Args:
        pieces: In the order in which what they give is wanted.
    """

    def __init__(self, pieces: Sequence[Piece]) -> None:
        self._pieces = pieces
        self._left = deque(range(len(pieces)))
        self._given: dict[int, Given] = {}
        self._with_helpers: dict[int, Future[Given]] = {}
        self._taking = threading.Lock()

    def do(self, function: Callable[[Piece], Given]) -> None:
        """Work from the front until nothing is left, and wait for what helpers are at.

        However this ends, no helper is at work any more: what it writes late could undo what was done since.
        """
        try:
            while (number := self._first()) is not None:
                self._given[number] = function(self._pieces[number])
        finally:
            with self._taking:
                self._left.clear()
            wait(self._with_helpers.values())

    def help(self, function: Callable[[Piece], Given]) -> None:
        """Work from the end until nothing is left, or a piece fails: that one is left to whoever asked."""
        while (taken := self._last()) is not None:
            number, given = taken
            try:
                given.set_result(function(self._pieces[number]))
            except Exception as error:
                given.set_exception(error)
                return

    def all_given(self, function: Callable[[Piece], Given]) -> list[Given]:
        """What every piece gave, in order; pieces that failed with a helper are done now, and tell what is wrong."""
        given = {
            n: one.result() for n, one in self._with_helpers.items() if one.exception() is None
        } | self._given
        return [given[n] if n in given else function(piece) for n, piece in enumerate(self._pieces)]

    def _first(self) -> int | None:
        with self._taking:
            return self._left.popleft() if self._left else None

    def _last(self) -> tuple[int, Future[Given]] | None:
        """A piece and where to put what it gives, in one step, so that nobody misses that it was begun."""
        with self._taking:
            if not self._left:
                return None
            number = self._left.pop()
            given = self._with_helpers[number] = Future()
            return number, given
