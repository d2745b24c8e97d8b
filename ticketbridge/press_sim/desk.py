"""Where other threads ask the one that prints: each question is a call, answered between two steps of the carriage."""

import queue
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, Final, TypeVar

T = TypeVar("T")

PATIENCE_S: Final = 30.0


class Desk:
    """Questions wait here until the press looks up from its work."""

    def __init__(self) -> None:
        self._waiting: queue.SimpleQueue[tuple[Callable[[], Any], Future[Any]]] = queue.SimpleQueue()

    def ask(self, question: Callable[[], T]) -> T:
        """Have something called by the thread that prints, and wait for what it returns or raises."""
        answer: Future[T] = Future()
        self._waiting.put((question, answer))
        return answer.result(PATIENCE_S)

    def serve(self) -> bool:
        """Answer everything that waits. True where something did."""
        served = False
        while not self._waiting.empty():
            question, answer = self._waiting.get()
            served = True
            try:
                answer.set_result(question())
            except Exception as error:
                answer.set_exception(error)
        return served
