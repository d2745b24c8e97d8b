"""Where partners post: admits a request, receives its body within limits, and answers.

A refusal of somebody unknown has no body and does not say what was wrong. Whoever is known gets HTTP 200 with a JMF
whenever a proper Response can be given, also when it says no.
"""

import asyncio
import gzip
import re
from collections.abc import AsyncIterator, Callable
from concurrent.futures import Executor
from contextlib import suppress
from functools import partial
from http import HTTPStatus
from pathlib import Path
from typing import Final, TypeVar

from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from ticketbridge.answer.messages import messages_of
from ticketbridge.answer.responses import response
from ticketbridge.daemon.http.desk import Desk
from ticketbridge.daemon.http.exchange import Exchange, answer_document
from ticketbridge.daemon.http.known_answers import Asked, KnownAnswers
from ticketbridge.daemon.http.partners import Credentials, Partners, with_sender_id
from ticketbridge.daemon.http.receiving import XML_TYPES, Received, Receiver, Refused
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import Element, moment
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.model.jmf_partner import JmfSender
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE, jdf

T = TypeVar("T")

CERTIFICATE: Final = "ticketbridge.certificate"
"""Where the connection's client certificate is told in a request's scope: its common name."""
SQUEEZE_BYTES: Final = 1024
"""Answers from this size on are compressed where the asker offers to read that."""
SMALL_BYTES: Final = 64 * 1024
"""A message up to this size is read at once: a step into another thread would cost more than the reading."""
AT_ONCE_BYTES: Final = 256 * 1024
"""So much of a body is gathered before it is worked on."""

_TOKEN: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]{0,62}")
"""IDs and types that may be repeated in an answer."""


class NotOurs(Exception):
    """The sender is none of those configured."""


class Admission:
    """What is known of one request as its body comes in: who sends it, and what its JMF says."""

    def __init__(self, desk: Desk, senders: list[JmfSender]) -> None:
        self._desk = desk
        self._senders = senders
        self.sender: JmfSender | None = None
        self.root: Element | None = None
        self.findings: tuple[Finding, ...] = ()

    def admit(self, jmf: bytes) -> Path:
        """Read the JMF, find its sender, and say where files of its package go.

        Raises:
            NotOurs: The SenderID is not among those that were admitted.
            Refused: It is no JMF; there is a sender to tell it to only where all that were admitted are one.
        """
        bridge = self._desk.bridge
        limits = bridge.shop.settings.limits
        try:
            root = parse(jmf, limits, "the message")
        except XmlRefused as refusal:
            self._only_one()
            raise Refused(refusal.findings[0]) from refusal
        if root.tag != jdf("JMF"):
            self._only_one()
            raise Refused(Finding("package.no-jmf"))
        self.sender = with_sender_id(self._senders, root.get("SenderID", ""))
        if self.sender is None:
            raise NotOurs
        self.root = root
        self.findings = tuple(one for one in check(root, "the message") if refuses([one]))
        most = self._desk.settings.limits.messages
        if len(messages_of(root)) > most:
            self.findings = (*self.findings, Finding("message.too-many", facts={"limit": most}))
        return self._home(self.sender)

    def _only_one(self) -> None:
        if len(self._senders) != 1:
            raise NotOurs
        self.sender = self._senders[0]

    def _home(self, sender: JmfSender) -> Path:
        """Artwork lies at the source, where the press opens it; what a press sends, at its lane."""
        bridge = self._desk.bridge
        if sender.source is not None:
            return bridge.source_places(sender.source).artwork
        return bridge.lane_places(sender.lanes[0]).followed


class Endpoint:
    """Answers every POST, at whatever path: the standard names none. The application that the server runs (ASGI)."""

    def __init__(self, desk: Desk, partners: Partners, threads: Executor) -> None:
        self._desk = desk
        self._partners = partners
        self._threads = threads
        self._known = KnownAnswers(desk.seen)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request. With one thing to answer, what finds routes would only cost time."""
        if scope["method"] == "POST":
            answer = await self.post(Request(scope, receive))
        else:
            answer = Response(status_code=HTTPStatus.METHOD_NOT_ALLOWED, headers={"Allow": "POST"})
        await answer(scope, receive, send)

    async def post(self, request: Request) -> Response:
        """One message."""
        address = request.client.host if request.client else ""
        senders = self._partners.at_address(address)
        if not senders:
            return _closed(HTTPStatus.FORBIDDEN)
        shown = Credentials(address, request.headers.get("authorization"), request.scope.get(CERTIFICATE))
        if shown.authorization is None:
            signed_in = self._partners.signed_in(senders, shown)
        else:  # passwords are slow by design
            signed_in = await self._in_thread(lambda: self._partners.signed_in(senders, shown))
        if not signed_in:
            asks = any(one.user is not None for one in senders)
            return _sign_in() if asks else _closed(HTTPStatus.FORBIDDEN)
        refusal = self._refused_by_header(request)
        return refusal or await self._received(request, signed_in)

    def _refused_by_header(self, request: Request) -> Response | None:
        """What can be said before a byte of the body is read."""
        content_type = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
        if content_type not in ("", "multipart/related") and not XML_TYPES.fullmatch(content_type):
            return _closed(HTTPStatus.UNSUPPORTED_MEDIA_TYPE)
        if request.headers.get("content-encoding", "identity").casefold() not in ("identity", "gzip"):
            return _closed(HTTPStatus.UNSUPPORTED_MEDIA_TYPE)
        length = request.headers.get("content-length", "0")
        if not length.isdigit() or int(length) > self._desk.settings.limits.package_bytes:
            return _closed(HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
        return None

    async def _received(self, request: Request, senders: list[JmfSender]) -> Response:
        limits = self._desk.settings.limits
        admission = Admission(self._desk, senders)
        receiver: Receiver | None = None
        received: Received | None = None
        asked: Asked | None = None
        try:
            receiver = Receiver(
                request.headers.get("content-type", ""),
                gzip=request.headers.get("content-encoding", "").casefold() == "gzip",
                most_bytes=limits.package_bytes,
                ticket_bytes=self._desk.bridge.shop.settings.limits.ticket_bytes,
                most_parts=limits.parts,
                admit=admission.admit,
            )
            async with asyncio.timeout(limits.receive_s):
                async for chunk, is_last in _gathered(request, limits.silence_s):
                    if is_last and len(chunk) <= SMALL_BYTES and not receiver.is_package:
                        asked = self._known.asked(senders, chunk)
                        now = self._desk.bridge.now()
                        if (known := self._known.find(asked, moment(now), self._desk.fresh_id)) is not None:
                            return _answer(request, known)
                        received = _take(receiver, chunk, is_last)
                    else:
                        received = await self._in_thread(partial(_take, receiver, chunk, is_last))
        except NotOurs:
            return await self._abandoned(receiver, _closed(HTTPStatus.FORBIDDEN))
        except TimeoutError:
            return await self._abandoned(receiver, _closed(HTTPStatus.REQUEST_TIMEOUT))
        except ClientDisconnect:
            return await self._abandoned(receiver, _closed(HTTPStatus.BAD_REQUEST))
        except OSError as error:
            self._desk.notices.tell("jmf.busy", kind="package", reason=str(error))
            return await self._abandoned(receiver, _closed(HTTPStatus.SERVICE_UNAVAILABLE))
        except Refused as refused:
            return await self._abandoned(receiver, self._unread(request, admission, refused.finding))
        assert admission.sender is not None  # noqa: S101  admitted, or one of the above
        assert admission.root is not None  # noqa: S101
        assert received is not None  # noqa: S101
        exchange = Exchange(self._desk, admission.sender, admission.root, received, self._threads)
        if admission.findings:
            body: bytes | None = exchange.document(self._all_unfit(admission.root, admission.findings))
        else:
            body = await exchange.answered()
            if asked is not None and body is not None and exchange.may_be_asked_again:
                ids = [one.message_id for one in messages_of(admission.root)]
                self._known.keep(asked, admission.sender, exchange.questions, ids, body)
        if received.folder is not None and not exchange.keeps_files:
            with suppress(OSError):  # what cannot be taken away now is swept later
                await self._in_thread(received.discard)
        return _answer(request, body)

    def _unread(self, request: Request, admission: Admission, finding: Finding) -> Response:
        """A JMF that says why the message cannot be read, for a sender that is known; else nothing."""
        if admission.sender is None:
            return _closed(HTTPStatus.FORBIDDEN)
        answer = _answer(
            request, answer_document(self._desk, admission.sender, [self._unfit((finding,))], None)
        )
        answer.headers["connection"] = "close"
        return answer

    def _unfit(self, findings: tuple[Finding, ...]) -> Element:
        """A Response to a message whose ID and type cannot be relied on (from memory: Type Notification, no refID)."""
        return response(None, "Notification", list(findings), self._desk.bridge.now())

    def _all_unfit(self, root: Element, findings: tuple[Finding, ...]) -> list[Element]:
        """What is said to each message of a document of which none is done; where they cannot be told apart, once."""
        messages = messages_of(root)
        names = {one.message_id for one in messages}
        readable = all(_TOKEN.fullmatch(word) for one in messages for word in (one.message_id, one.kind))
        if not readable or not 0 < len(messages) == len(names) <= self._desk.settings.limits.messages:
            return [self._unfit(findings)]
        at = self._desk.bridge.now()
        return [response(one.message_id, one.kind, list(findings), at) for one in messages]

    async def _abandoned(self, receiver: Receiver | None, answer: Response) -> Response:
        if receiver is not None:
            await self._in_thread(receiver.abandon)
        return answer

    async def _in_thread(self, work: Callable[[], T]) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._threads, work)


def _take(receiver: Receiver, chunk: bytes, is_last: bool) -> Received | None:
    """One step into another thread: most messages come in one piece, and need no second."""
    receiver.feed(chunk)
    return receiver.close() if is_last else None


async def _gathered(request: Request, silence_s: float) -> AsyncIterator[tuple[bytes, bool]]:
    """The body in pieces worth a step into another thread, and whether each is the last.

    Raises:
        TimeoutError: The sender fell silent.
        ClientDisconnect: The sender is gone.
    """
    gathered, more = bytearray(), True
    while more:
        async with asyncio.timeout(silence_s):
            message = await request.receive()
        if message["type"] == "http.disconnect":
            raise ClientDisconnect
        gathered += message.get("body", b"")
        more = message.get("more_body", False)
        if more and len(gathered) >= AT_ONCE_BYTES:
            yield bytes(gathered), False
            gathered.clear()
    yield bytes(gathered), True


def _answer(request: Request, body: bytes | None) -> Response:
    if body is None:
        return Response(status_code=HTTPStatus.OK)
    headers = {"Content-Type": JMF_CONTENT_TYPE}
    if len(body) >= SQUEEZE_BYTES and "gzip" in request.headers.get("accept-encoding", ""):
        body = gzip.compress(body, compresslevel=1)
        headers["Content-Encoding"] = "gzip"
    return Response(body, headers=headers)


def _closed(status: HTTPStatus) -> Response:
    """An answer that tells nothing, and the end of the connection: its body may still be coming."""
    return Response(status_code=status, headers={"Connection": "close"})


def _sign_in() -> Response:
    headers = {"Connection": "close", "WWW-Authenticate": 'Basic realm="jmf", charset="UTF-8"'}
    return Response(status_code=HTTPStatus.UNAUTHORIZED, headers=headers)
