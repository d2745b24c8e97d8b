"""Sending one message to one subscriber: into its status folder, or by HTTP POST.

A sender says whether the subscriber has the message now. It never decides what to do next; that is
``model.retry``, and the outbox remembers.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from ticketbridge.jdf.post import Poster
from ticketbridge.model.exchange import Outcome
from ticketbridge.spool import durable
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE


class NotReceived(Exception):
    """The subscriber does not have the message; the text says why, for the log.

    Attributes:
        outcome: How the exchange ended.
    """

    def __init__(self, reason: str, outcome: Outcome = Outcome.NOT_REACHED) -> None:
        super().__init__(reason)
        self.outcome = outcome


class Sender(Protocol):
    """One way to one subscriber."""

    def send(self, body: bytes, file_name: str) -> None:
        """Hand over one message.

        Raises:
            NotReceived: The subscriber surely or probably does not have it.
        """

    def settle(self, file_names: Sequence[str]) -> None:
        """Make durable what was sent, before the store notes it as sent."""

    def close(self) -> None:
        """Let go of connections."""


class FolderSender:
    """One file per message, shown whole by a rename, made durable in groups.

    The same message again writes the same bytes under the same name: a reader that has not taken it yet
    sees no double.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def send(self, body: bytes, file_name: str) -> None:
        """Write the file; readers never see a part of it."""
        try:
            durable.require_ready(self._folder)
            durable.show_new(self._folder / file_name, body)
        except (OSError, durable.PlaceNotReady) as error:
            raise NotReceived(str(error)) from error

    def settle(self, file_names: Sequence[str]) -> None:
        """Sync the files that are still there, then their folder."""
        for name in file_names:
            durable.sync_file(self._folder / name)
        durable.sync_folder(self._folder)

    def close(self) -> None:
        """Nothing is held."""


class HttpSender:
    """JMF by HTTP POST to one configured address."""

    def __init__(self, poster: Poster) -> None:
        self._poster = poster

    def send(self, body: bytes, file_name: str) -> None:  # noqa: ARG002  a name means nothing to HTTP
        """Post it. Received means: an answer of 2xx, and no Response in it that says otherwise."""
        answer = self._poster.post(body, JMF_CONTENT_TYPE)
        if answer.outcome is not Outcome.RECEIVED:
            raise NotReceived(answer.reason, answer.outcome)

    def settle(self, file_names: Sequence[str]) -> None:
        """The other side has it; nothing lies here."""

    def close(self) -> None:
        """Close the connections."""
        self._poster.close()
