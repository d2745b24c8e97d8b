"""What sample files of one export hold: every place where values stand, with the values."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ticketbridge.extract.found import Found
from ticketbridge.model.reads import FileKind, Within
from ticketbridge.model.ticket_field import TicketField


class NothingFound(Exception):
    """No mapping can be drafted from these files; the text says why."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One place where values stand.

    Attributes:
        at: The place as a row of a mapping names it.
        within: What it counts from.
        name: The name of the place itself: a heading, an element, an attribute, a member.
        around: The names around it, the outermost first, up to the order or item that it belongs to.
        values: What stands there in each record, in the files' order; None where nothing does.
        several: Whether more than one value stands there in one record.
        split_at: The sign at which the text is cut, where the spot is a piece of it.
        piece: Which piece, from 1.
    """

    at: str
    within: Within
    name: str
    around: tuple[str, ...]
    values: tuple[Found | None, ...]
    several: bool = False
    split_at: str | None = None
    piece: int = 1

    @property
    def found(self) -> list[Found]:
        """The values that are there."""
        return [value for value in self.values if value is not None]

    @property
    def texts(self) -> list[str]:
        """The different texts, in the files' order."""
        return list(dict.fromkeys(one.raw for one in self.found))


@dataclass(slots=True)
class Survey:
    """All of it.

    Attributes:
        kind: The kind of files.
        spots: Every place. In all of them the values of one record, an item, stand at the same position.
        layout: Keys of ``reads`` that say how the files come apart, with a reason for each.
        levels: What places can count from, the outermost first.
        standard: For JDF, what the standard's own reading gives, by field.
    """

    kind: FileKind
    spots: Sequence[Spot]
    layout: dict[str, tuple[Any, str]] = field(default_factory=dict)
    levels: tuple[Within, ...] = (Within.FILE, Within.ORDER)
    standard: Mapping[TicketField, tuple[Found | None, ...]] = field(default_factory=dict)

    @property
    def innermost(self) -> Within:
        """What values of an item count from."""
        return self.levels[-1]
