"""What the reader by mapping needs of a file, whatever kind it is: its orders, what lies below them, values at places."""

from dataclasses import dataclass
from typing import Any, Protocol

from ticketbridge.extract.found import Found
from ticketbridge.model.finding import Finding


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """One order, item or part in a file.

    Attributes:
        handle: The element, value or row itself.
        path: Where it stands.
        line: Its line in the file, where files of this kind have lines.
        fault: What is wrong with it as a whole.
        nameless: Whether it cannot belong to any order, whatever stands in it.
    """

    handle: Any
    path: str
    line: int | None
    fault: Finding | None = None
    nameless: bool = False


class Opened(Protocol):
    """A file that came apart.

    Each call may raise ``extract.rows.FileRefused`` where an expression cannot be evaluated in this file.
    """

    root: Record
    """The file as a whole."""

    def orders(self) -> list[Record]:
        """The orders, or their lines, in the file's order."""

    def below(self, record: Record, at: str, /) -> list[Record]:
        """The items of an order, or the parts of an item."""

    def find(self, record: Record, at: str) -> list[Found]:
        """Everything at a place that is not empty."""

    def in_words(self, at: str) -> str:
        """A place, for people: ``the column "Width"``."""
