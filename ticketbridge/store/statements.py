"""The base of every group of statements: the connection of the transaction they run in."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Final

from sqlalchemy import Connection

MOST_VALUES: Final = 500
"""Values in one question; a database takes some thousands."""


def in_parts(values: Iterable[str]) -> Iterator[list[str]]:
    """The values in lists of at most ``MOST_VALUES``, each value once."""
    left = iter(dict.fromkeys(values))
    while some := list(islice(left, MOST_VALUES)):
        yield some


class Statements:
    """Statements of one transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.has_news = False
        """Whether other bridges have something to do when this is committed."""
