"""What one bridge of several serves: hot folders, lanes, subscribers, the box of requests. One alone serves all."""

from dataclasses import dataclass
from typing import Final

SOURCE: Final = "source"
LANE: Final = "lane"
SUBSCRIBER: Final = "subscriber"
REQUESTS: Final = "requests"
"""The box that commands put their requests into; there is one."""


def lease_name(kind: str, name: str = "") -> str:
    """The name under which only one bridge serves it, such as ``lane HL-P1-A``."""
    return f"{kind} {name}".rstrip()


@dataclass(frozen=True, slots=True)
class Share:
    """What a bridge serves.

    Attributes:
        names: Names of leases; None where it has the shop for itself.
        writer: Who writes, as a part of temporary names, so that two bridges never write one file; empty where
            there is only one.
    """

    names: frozenset[str] | None = None
    writer: str = ""

    def has(self, kind: str, name: str = "") -> bool:
        """Whether this is served here."""
        return self.names is None or lease_name(kind, name) in self.names
