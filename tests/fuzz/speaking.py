"""Messages and what presses return, through the bridge's own doors, with a store that forgets whatever was done.

A post begins where the server hands a request over (ASGI) and is answered by the code that answers partners; a ticket
that it submits is read and decided, and no more. So each document finds the same bridge.
"""

import asyncio
import re
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from copy import copy
from dataclasses import dataclass, fields
from functools import cached_property
from pathlib import Path
from queue import Queue
from typing import Any
from unittest.mock import patch

from tests.unit.daemon.http.office import JMF
from tests.unit.flow.bench import Bench
from ticketbridge.daemon.http import endpoint
from ticketbridge.daemon.http.desk import Desk
from ticketbridge.daemon.http.endpoint import Endpoint
from ticketbridge.daemon.http.partners import Partners
from ticketbridge.daemon.http.passwords import Doorkeeper
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.flow.press import following
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.model.shop import Limits
from ticketbridge.store.store import Store
from ticketbridge.store.transaction import Transaction
from ticketbridge.vocabulary.names import jdf

FORGOTTEN = ("queues", "subscriptions", "paces", "inks", "experience", "actuals_are_new", "plan_is_old")
"""What a bridge keeps of what was said to it, beside its store."""
LANE, ENTRY = "HL-P1-A", "Q000001"
FIELD = re.compile(rb"([!#$%&'*+.^_`|~0-9A-Za-z-]+):[ \t]*([\x21-\x7e\x80-\xff][\t\x20-\x7e\x80-\xff]*)")
"""A header field as a server lets it through."""


class BadAnswer(Exception):
    """What was answered cannot be read, or something was left behind."""


class Forgetful(Store):
    """Nothing that is done in it lasts."""

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        done = self._connection.begin()
        try:
            yield Transaction(self._connection)
        finally:
            done.rollback()


class Loud(Notices):
    """A fault of ours is told to the fuzzer, not to a log."""

    def tell(self, event: str, **facts: Any) -> None:
        if event == "jmf.busy":
            raise BadAnswer(facts)

    def broke(self, _what: str, error: BaseException) -> None:
        raise error


@dataclass
class Undone(Desk):
    """Decides what is handed in, and lays nothing down."""

    decide: Callable[[bytes], tuple[Finding, ...]] = lambda _: ()

    def hand_in(self, _source: str, _name: str, ticket: bytes, _submission: object) -> "Future[Submitted]":
        findings = self.decide(ticket)
        done: Future[Submitted] = Future()
        done.set_result(Submitted("refused" if refuses(findings) else "accepted", findings, (ENTRY,)))
        return done


class Here(Executor):
    """Works in the thread that asks."""

    def submit(self, work: Callable[..., Any], /, *args: Any, **named: Any) -> "Future[Any]":
        done: Future[Any] = Future()
        try:
            done.set_result(work(*args, **named))
        except Exception as error:
            done.set_exception(error)
        return done


class Speaking:
    """A bridge to speak to, begun when it is first needed: what it opens belongs to one process."""

    def __init__(self, bench: Bench, decide: Callable[[bytes], tuple[Finding, ...]]) -> None:
        self._bench = bench
        self._decide = decide

    def read_message(self, data: bytes) -> None:
        """A JMF, posted twice, as the second answer may be one that is known; and as the press might have said it."""
        self._posted([(b"content-type", JMF.encode())], data, times=2)
        self.take_from_press(data, "fuzz.jmf")

    def post(self, data: bytes) -> None:
        """A request: its head, and its body in uneven pieces."""
        head, _, body = data.partition(b"\r\n\r\n")
        fields = (FIELD.fullmatch(line) for line in head.split(b"\r\n"))
        self._posted([(one[1].lower(), one[2].strip()) for one in fields if one], body, times=1)

    def take_from_press(self, data: bytes, file: str = "fuzz.jdf") -> None:
        """A file in a press's folder."""
        with self._as_before():
            path = self._bench.lane(LANE).returned / file
            path.write_bytes(data)
            following.follow(self._bridge, following.PressFile(LANE, path, data, lambda _: None))

    @cached_property
    def _bridge(self) -> Bridge:
        bridge = self._bench.start()
        bridge.store.close()
        bridge.store = Forgetful(bridge.store._engine)
        return bridge

    @cached_property
    def _partners(self) -> Partners:
        settings = self._bridge.shop.settings.jmf
        assert settings is not None
        return Partners(settings.senders, Doorkeeper({}))

    @cached_property
    def _loop(self) -> asyncio.AbstractEventLoop:
        return asyncio.new_event_loop()

    @cached_property
    def _folders(self) -> dict[Path, set[str]]:
        """Where things are left, and what lay there before."""
        lane = self._bench.lane(LANE)
        places = (
            self._bench.source.artwork,
            self._bench.source.returned,
            lane.status,
            lane.returned,
            lane.followed,
        )
        return {place: {path.name for path in place.iterdir()} for place in places}

    @contextmanager
    def _as_before(self) -> Iterator[None]:
        bridge, folders = self._bridge, self._folders
        known = {one.name: copy(getattr(bridge, one.name)) for one in fields(bridge) if one.name in FORGOTTEN}
        try:
            yield
        finally:
            for name, value in known.items():
                setattr(bridge, name, value)
            for place, names in folders.items():
                for path in [path for path in place.iterdir() if path.name not in names]:
                    _remove(path)

    def _desk(self) -> Desk:
        settings = self._bridge.shop.settings.jmf
        assert settings is not None
        return Undone(
            settings,
            self._bridge,
            self._bridge.store,
            self._do,
            Queue(),
            lambda: None,
            Loud(),
            decide=self._decide,
        )

    def _do(self, work: Callable[[Bridge], Any]) -> "Future[Any]":
        return Here().submit(work, self._bridge)

    def _posted(self, head: list[tuple[bytes, bytes]], body: bytes, *, times: int) -> None:
        with self._as_before(), patch.object(endpoint, "AT_ONCE_BYTES", 1):
            desk = self._desk()
            door = Endpoint(desk, self._partners, Here())
            for _ in range(times):
                said = self._loop.run_until_complete(_asked(door, head, body))
                if said:
                    _sound(said)
            left = [path.name for place in self._folders for path in place.glob(".receiving-*")]
            if left:
                raise BadAnswer(f"left behind: {left}")


async def _asked(door: Endpoint, head: list[tuple[bytes, bytes]], body: bytes) -> bytes:
    step = 50 + zlib.crc32(body) % 2000
    pieces = [body[at : at + step] for at in range(0, len(body), step)] or [b""]
    said = bytearray()

    async def receive() -> dict[str, Any]:
        if not pieces:
            return {"type": "http.disconnect"}
        piece = pieces.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(pieces)}

    async def send(message: Any) -> None:
        said.extend(message.get("body", b""))

    scope = {
        "type": "http", "method": "POST", "path": "/jmf", "query_string": b"", "headers": head,
        "client": ("127.0.0.1", 9),
    }  # fmt: skip
    await door(scope, receive, send)
    return bytes(said)


def _sound(said: bytes) -> None:
    """An answer is a JMF that we would take ourselves."""
    root = parse(said, Limits(), "the answer")
    findings = [one for one in check(root, "the answer") if refuses([one])]
    if root.tag != jdf("JMF") or findings:
        raise BadAnswer(findings, said)
    as_bytes(root)


def _remove(path: Path) -> None:
    if path.is_dir():
        for inner in path.iterdir():
            inner.unlink()
        path.rmdir()
    else:
        path.unlink()
