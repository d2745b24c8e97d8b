"""Sending one message to one subscriber: into its status folder, or by HTTP POST.

A sender says whether the subscriber has the message now. It never decides what to do next; that is
``model.retry``, and the outbox remembers.
"""

import time
from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

import httpx2
from lxml import etree

from ticketbridge.jdf.writing import Element
from ticketbridge.spool import durable
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE, jdf

HTTP_TIMEOUT_S = 10.0
"""For each wait: to connect, to send, for the next bytes of the answer."""
WHOLE_S = 20.0
"""For the whole exchange; a subscriber that answers drop by drop is cut off."""
ANSWER_LIMIT_BYTES = 1_000_000


class NotReceived(Exception):
    """The subscriber does not have the message; the text says why, for the log."""


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
    """JMF by HTTP POST to one configured address; redirects and environment proxies are not followed."""

    def __init__(self, url: str, client: httpx2.Client | None = None) -> None:
        self._url = url
        self._client = client or httpx2.Client(
            timeout=HTTP_TIMEOUT_S, follow_redirects=False, trust_env=False
        )

    def send(self, body: bytes, file_name: str) -> None:  # noqa: ARG002  a name means nothing to HTTP
        """Post it. Received means: an answer of 2xx, and no Response in it that says otherwise."""
        try:
            with self._client.stream(
                "POST", self._url, content=body, headers={"Content-Type": JMF_CONTENT_TYPE}
            ) as answer:
                if not answer.is_success:
                    raise NotReceived(f"{self._url} answered {answer.status_code}")
                told, until_s = b"", time.monotonic() + WHOLE_S
                for chunk in answer.iter_bytes():
                    told += chunk
                    if time.monotonic() > until_s:
                        raise NotReceived(f"{self._url} did not finish its answer within {WHOLE_S:g} s")
                    if len(told) > ANSWER_LIMIT_BYTES:
                        raise NotReceived(f"{self._url} answered with more than {ANSWER_LIMIT_BYTES} bytes")
        except httpx2.HTTPError as error:
            raise NotReceived(f"{self._url}: {error or type(error).__name__}") from error
        code = return_code(told)
        if code != 0:
            raise NotReceived(f"{self._url} answered ReturnCode {code}")

    def settle(self, file_names: Sequence[str]) -> None:
        """The other side has it; nothing lies here."""

    def close(self) -> None:
        """Close the connections."""
        self._client.close()


def return_code(answer: bytes) -> int:
    """The worst ReturnCode in a JMF answer; 0 for an empty one (HTTP 200 with a code is a refusal).

    Raises:
        NotReceived: The answer is something, but no JMF.
    """
    if not answer.strip():
        return 0
    try:
        root: Element = etree.fromstring(
            answer, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        )
        codes = [int(response.get("ReturnCode", "0")) for response in root.iter(jdf("Response"))]
    except (etree.XMLSyntaxError, ValueError) as error:
        raise NotReceived("the answer is no JMF") from error
    if root.tag != jdf("JMF"):
        raise NotReceived("the answer is no JMF")
    return max(codes, default=0)
