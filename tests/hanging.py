"""Calls on a folder that do not come back until the test lets them, as on a share whose server stopped answering."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask


@dataclass
class Hang:
    """One call of the durable layer hangs below a folder.

    Attributes:
        folder: Only below it.
        after: Whether the call does its work first, and only its answer is late; else it works when let go.
        fault: What it raises in the end, as a network file system may report failure after success.
    """

    folder: Path
    after: bool = False
    fault: OSError | None = None
    begun: threading.Event = field(default_factory=threading.Event)
    _let_go: threading.Event = field(default_factory=threading.Event)

    def of(self, inner: Callable[..., Any]) -> Callable[..., Any]:
        """The call that hangs."""

        def call(path: Path, *args: Any, **named: Any) -> Any:
            if self._let_go.is_set() or not Path(path).is_relative_to(self.folder):
                return inner(path, *args, **named)
            if not self.after:
                self.wait()
            done = inner(path, *args, **named)
            if self.after:
                self.wait()
            if self.fault is not None:
                raise self.fault
            return done

        return call

    def wait(self) -> None:
        """Hang until let go."""
        self.begun.set()
        assert self._let_go.wait(60), "the test never let go"

    def let_go(self) -> None:
        """The share answers again."""
        self._let_go.set()


def hang(monkeypatch: pytest.MonkeyPatch, name: str, made: Hang) -> Hang:
    """Make the calls of one function of ``spool.durable`` hang, behind its gate."""
    outer = getattr(durable, name)
    inner = getattr(outer, "__wrapped__", outer)

    def through(path: Path, *args: Any, **named: Any) -> Any:
        return ask(path, lambda: made.of(inner)(path, *args, **named))

    monkeypatch.setattr(durable, name, through)
    return made
