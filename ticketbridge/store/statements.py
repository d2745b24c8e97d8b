"""The base of every group of statements: the connection of the transaction they run in."""

from sqlalchemy import Connection


class Statements:
    """Statements of one transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.has_news = False
        """Whether other bridges have something to do when this is committed."""
