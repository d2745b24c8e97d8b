"""One JMF by HTTP POST to a configured address, and what came back, told apart by ``model.exchange``.

Redirects and proxies of the environment are not followed: the only hosts that are called are the configured ones.
"""

import re
import ssl
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import httpx2
from lxml import etree

from ticketbridge.jdf.writing import Element
from ticketbridge.model.exchange import Exchange, Outcome, outcome_of_code, outcome_of_status
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE, jdf

HTTP_TIMEOUT_S: Final = 10.0
"""For each wait: to connect, to send, for the next bytes of the answer."""
WHOLE_S: Final = 20.0
"""For the whole exchange; one that answers drop by drop is cut off."""
ANSWER_LIMIT_BYTES: Final = 1_000_000
IDLE_S: Final = 2.0
"""A connection that was idle for longer is not used again: the other side may be about to close it."""

_CREDENTIALS: Final = re.compile(r"(?<=://)[^/@\s\"'<>]+@")


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back.

    Attributes:
        outcome: How it ended.
        reason: In words, for the log.
        return_code: The worst ReturnCode in it; 0 where it holds none.
        jmf: Root of the answer, where it is a JMF.
    """

    outcome: Outcome
    reason: str = ""
    return_code: int = 0
    jmf: Element | None = None


class Poster:
    """Posts to one address. Keeps its connection between messages that follow closely."""

    def __init__(
        self,
        url: str,
        partner: str = "",
        note: Callable[[Exchange], None] = lambda _exchange: None,
        *,
        client: httpx2.Client | None = None,
        patience_s: float = HTTP_TIMEOUT_S,
    ) -> None:
        """Remember where to.

        Args:
            url: The configured address.
            partner: Whose it is, for the record of exchanges.
            note: Keeps that record.
            client: For tests.
            patience_s: The longest wait for anything.
        """
        self._url = url
        self._partner = partner
        self._note = note
        self._whole_s = 2 * patience_s
        self._client = client or httpx2.Client(
            timeout=patience_s,
            follow_redirects=False,
            trust_env=False,
            limits=httpx2.Limits(keepalive_expiry=IDLE_S),
        )

    def post(self, body: bytes, content_type: str = JMF_CONTENT_TYPE) -> Answer:
        """Post one document. Never raises for what the other side does."""
        status, told = None, bytearray()
        try:
            headers = {"Content-Type": content_type}
            with self._client.stream("POST", self._url, content=body, headers=headers) as response:
                status = response.status_code
                answer = self._read(response, told) or _judged(status, bytes(told))
        except (httpx2.HTTPError, httpx2.StreamError) as error:
            answer = Answer(_outcome_of_fault(error), f"{error or type(error).__name__}")
        answer = Answer(
            answer.outcome, f"{shown(self._url)}: {answer.reason}", answer.return_code, answer.jmf
        )
        self._note(
            Exchange(
                partner=self._partner,
                direction="sent",
                address=shown(self._url),
                body=shown(body.decode(errors="replace")),
                http_status=status,
                answer=shown(told.decode(errors="replace")),
                outcome=answer.outcome.value,
            )
        )
        return answer

    def close(self) -> None:
        """Let go of connections."""
        self._client.close()

    def _read(self, response: httpx2.Response, told: bytearray) -> Answer | None:
        """Read the answer to its end; an answer of its own where that end is not waited for."""
        until_s = time.monotonic() + self._whole_s
        for chunk in response.iter_bytes():
            told += chunk
            if time.monotonic() > until_s:
                return Answer(Outcome.TIMED_OUT, f"did not finish its answer within {self._whole_s:g} s")
            if len(told) > ANSWER_LIMIT_BYTES:
                del told[ANSWER_LIMIT_BYTES:]
                return Answer(Outcome.NO_JMF, f"answered with more than {ANSWER_LIMIT_BYTES} bytes")
        return None


def shown(text: str) -> str:
    """Text without the credentials that an address in it may carry."""
    return _CREDENTIALS.sub("", text)


def _outcome_of_fault(error: Exception) -> Outcome:
    cause: BaseException | None = error
    while cause is not None:
        if isinstance(cause, ssl.SSLError):
            return Outcome.TLS_FAILED
        cause = cause.__cause__ or cause.__context__
    if isinstance(error, httpx2.ConnectError | httpx2.ConnectTimeout | httpx2.PoolTimeout):
        return Outcome.NOT_REACHED
    if isinstance(error, httpx2.TimeoutException):
        return Outcome.TIMED_OUT
    return Outcome.CUT_OFF


def _judged(status: int, told: bytes) -> Answer:
    outcome = outcome_of_status(status)
    if outcome is not Outcome.RECEIVED:
        return Answer(outcome, f"answered {status}")
    if not told.strip():
        return Answer(Outcome.RECEIVED, "answered nothing")
    try:
        root: Element = etree.fromstring(
            told, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        )
        codes = [int(response.get("ReturnCode", "0")) for response in root.iter(jdf("Response"))]
    except (etree.XMLSyntaxError, ValueError):
        return Answer(Outcome.NO_JMF, "the answer is no JMF")
    if root.tag != jdf("JMF"):
        return Answer(Outcome.NO_JMF, "the answer is no JMF")
    code = next((code for code in codes if outcome_of_code(code) is not Outcome.RECEIVED), 0)
    return Answer(outcome_of_code(code), f"answered ReturnCode {code}", code, root)
