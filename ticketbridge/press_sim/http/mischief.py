"""Misbehaviour on request, so that the other side can be tried: files in ``control/http``, each of which counts once.

A file's name is what goes wrong, and after a dash the type of message that it befalls: ``silence-SubmitQueueEntry``.
Its content may be a number: seconds for ``late``, a ReturnCode for ``wrong-code`` and ``refuse``.

late          done, and answered that many seconds later
silence       done, and never answered
cut           done, and the connection closed in the middle of the answer
wrong-code    done, and answered with that ReturnCode all the same
refuse        not done, and answered with that ReturnCode
deaf          not done, and never answered
twice         the next signal is posted twice
swapped       the next two signals change places
"""

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ANSWERS: Final = ("late", "silence", "cut", "wrong-code", "refuse", "deaf")
DEFAULTS: Final = {"late": 3.0, "wrong-code": 2.0, "refuse": 112.0}


@dataclass(frozen=True, slots=True)
class Trick:
    """What goes wrong this time."""

    kind: str = ""
    number: float = 0.0


class Mischief:
    """The wishes in one folder."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder

    def for_answer(self, kinds: Collection[str]) -> Trick:
        """What befalls the answer to a document with messages of these types."""
        for trick in ANSWERS:
            for name in (trick, *(f"{trick}-{kind}" for kind in kinds)):
                number = self._taken(name, DEFAULTS.get(trick, 0.0))
                if number is not None:
                    return Trick(trick, number)
        return Trick()

    def wanted(self, trick: str) -> bool:
        """Whether ``twice`` or ``swapped`` befalls the next signal."""
        return self._taken(trick, 0.0) is not None

    def _taken(self, name: str, default: float) -> float | None:
        path = self._folder / name
        try:
            text = path.read_text().strip()
            path.unlink()
        except FileNotFoundError:
            return None
        return float(text) if text else default
