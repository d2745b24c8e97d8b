"""Which line of some code was reached from which: what tells a document that leads somewhere new from all others.

A tracer of our own, as a library's would have to be asked in a way it does not promise: only code of one folder is
followed, and a step that is known costs one look into a set.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any, Final

Arc = tuple[int, int]
"""Of which code, and from which line to which."""
_LINES: Final = 1 << 20


class Arcs:
    """Everything reached so far, in this process and in those that were forked from it."""

    def __init__(self, folder: Path) -> None:
        self._folder = f"{folder}/"
        self._known: dict[int, set[int] | None] = {}
        self._codes: list[CodeType] = []
        """Kept, so that no other code ever has the same identity."""
        self._fresh: list[Arc] = []

    def __len__(self) -> int:
        return sum(len(arcs) for arcs in self._known.values() if arcs)

    def fresh_in(self, work: Callable[[], object]) -> list[Arc]:
        """What is reached for the first time while this is done."""
        self._fresh = []
        sys.settrace(self._entered)
        try:
            work()
        finally:
            sys.settrace(None)
        return self._fresh

    def learn(self, arcs: list[Arc]) -> None:
        """These were reached elsewhere."""
        for code, arc in arcs:
            known = self._known.setdefault(code, set())
            if known is not None:
                known.add(arc)

    def _entered(self, frame: FrameType, _event: str, _argument: Any) -> Any:
        code = frame.f_code
        key = id(code)
        try:
            known = self._known[key]
        except KeyError:
            known = self._known[key] = set() if code.co_filename.startswith(self._folder) else None
            self._codes.append(code)
        if known is None:
            return None
        fresh = self._fresh
        before = 0

        def step(frame: FrameType, event: str, _argument: Any) -> Any:
            nonlocal before
            if event == "line":
                line = frame.f_lineno
                arc = before * _LINES + line
                before = line
                if arc not in known:
                    known.add(arc)
                    fresh.append((key, arc))
            return step

        return step
