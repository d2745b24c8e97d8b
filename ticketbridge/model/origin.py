"""Where a value of an order came from, so that a person can be told."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, NamedTuple

from ticketbridge.model.ticket import Read


class Whence(StrEnum):
    """The three places that a value can come from."""

    TICKET = "ticket"
    MAPPING = "mapping"
    """A row or a setting of the administrator's mapping, with what the ticket said where that decided it."""
    DEFAULT = "default"
    """Neither says anything; the program's own default."""


class Origin(NamedTuple):
    """One value's origin. A ticket has dozens, so they are what Python makes and sends quickest.

    Attributes:
        whence: Ticket, mapping or default.
        entry: In the mapping: ``substrates row 3`` (rows count from 1), or the name of a setting. Of a value that
            the ticket gives, the row that took it.
        raw: What the ticket wrote.
        path: XPath (or column) it was read from.
        line: Line in the ticket, from 1.
    """

    whence: Whence
    entry: str | None = None
    raw: str | None = None
    path: str | None = None
    line: int | None = None

    @classmethod
    def of(cls, read: Read) -> "Origin":
        """The origin of a value that was read: the ticket's, or the mapping's by a table or as a default."""
        whence = Whence.MAPPING if read.decided else Whence.TICKET
        return cls(whence, read.rule, read.raw or None, read.path or None, read.line)

    def __str__(self) -> str:
        """In one line, for people: ``mapping substrates row 3, from "Frontlit" at PATH, line 12``."""
        first = " ".join(part for part in (self.whence, self.entry) if part)
        said = f'from "{self.raw}"' if self.raw is not None else ""
        spot = f"at {self.path}" if self.path else ""
        line = f"line {self.line}" if self.line is not None else ""
        return ", ".join(part for part in (first, " ".join(p for p in (said, spot) if p), line) if part)

    def as_json(self) -> dict[str, Any]:
        """Plain values for the store."""
        return {name: value for name, value in self._asdict().items() if value is not None}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Origin":
        """The reverse of ``as_json``."""
        return cls(**{**data, "whence": Whence(data["whence"])})
