"""The body of a message as it arrives: the JMF and tickets kept in memory, everything else on disk, within limits.

Runs in a worker thread, chunk by chunk, so that a slow disk or a large package keeps nobody else waiting.
"""

import mimetypes
import re
import secrets
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from email.message import Message
from functools import partial
from pathlib import Path
from typing import BinaryIO, Final

from ticketbridge.answer.multipart import PackageBroken, PackageReader, PartData, PartHead
from ticketbridge.model.finding import Finding
from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask

RECEIVING: Final = ".receiving-"
"""Folders that begin so hold what is arriving; what a crash leaves of them is nobody's."""
PACKAGE: Final = "package-"
"""Folders that begin so hold what came with a ticket that was laid down, or is about to be."""
_PACKAGE_NAME: Final = re.compile(PACKAGE + "[0-9a-f]{16}")
ABOUT_TO_S: Final = 600.0
"""For so long a ticket may still be about to be laid down, by another bridge on the same folders that stands still."""
XML_TYPES: Final = re.compile(r"(application|text)/([\w.-]+\+)?xml")
_INFLATED_AT_ONCE: Final = 1024 * 1024


class Refused(Exception):
    """The body is refused; the finding says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.code)
        self.finding = finding


@dataclass(slots=True)
class Part:
    """One part of a package: small XML in memory, other things in a file."""

    head: PartHead
    data: bytes = b""
    file_name: str | None = None


@dataclass(slots=True)
class Received:
    """A whole message.

    Attributes:
        jmf: Its first part, or all of it.
        parts: The others, by Content-ID.
        folder: Where their files lie; None where there are none.
    """

    jmf: bytes = b""
    parts: dict[str, Part] = field(default_factory=dict)
    folder: Path | None = None

    def path_of(self, part: Part) -> Path | None:
        """Where a part's file lies now."""
        return None if self.folder is None or part.file_name is None else self.folder / part.file_name

    def settle(self) -> None:
        """Make the files durable and show them under a name that stays; again changes nothing."""
        if self.folder is not None and self.folder.name.startswith(RECEIVING):
            target = self.folder.with_name(f"{PACKAGE}{self.folder.name.removeprefix(RECEIVING)}")
            durable.settle_folder(self.folder, target)
            self.folder = target

    def discard(self) -> None:
        """Take its files away: nothing came of it, or we have the same already."""
        if self.folder is not None:
            durable.discard_folder(self.folder)
            self.folder = None


class Receiver:
    """Takes one body."""

    def __init__(
        self,
        content_type: str,
        *,
        gzip: bool,
        most_bytes: int,
        ticket_bytes: int,
        most_parts: int,
        admit: Callable[[bytes], Path],
    ) -> None:
        """Begin.

        Args:
            content_type: The header.
            gzip: Whether the body is compressed.
            most_bytes: Largest body, before and after unpacking.
            ticket_bytes: Largest JMF or ticket.
            most_parts: Most parts.
            admit: Called with the JMF as soon as it is there, before anything else of a package is kept; says
                in which folder a folder for files is to be made, or raises to refuse the sender.

        Raises:
            Refused: The header is none that is read.
        """
        self._received = Received()
        self._most_bytes, self._ticket_bytes = most_bytes, ticket_bytes
        self._admit = admit
        self._home: Path | None = None
        self._taken = 0
        self._inflater = zlib.decompressobj(wbits=31) if gzip else None
        self._part: Part | None = None
        self._file: BinaryIO | None = None
        self._count = 0
        self._reader = _package_reader(content_type, most_parts)

    @property
    def is_package(self) -> bool:
        """Whether files may come of it."""
        return self._reader is not None

    def feed(self, chunk: bytes) -> None:
        """Some more bytes.

        Raises:
            Refused: They cannot be taken.
            OSError: The disk does not take them.
        """
        for data in self._inflated(chunk):
            self._taken += len(data)
            if self._taken > self._most_bytes:
                raise Refused(Finding("package.too-large", facts={"limit": self._most_bytes}))
            if self._reader is None:
                self._received.jmf += data
                self._bound(len(self._received.jmf))
            else:
                self._read(self._reader, data)

    def close(self) -> Received:
        """The body has ended.

        Raises:
            Refused: It is not whole.
        """
        if self._inflater is not None and not self._inflater.eof:
            raise _broken("its compression is cut off")
        if self._reader is None:
            self._admit(self._received.jmf)
        else:
            try:
                self._reader.close()
            except PackageBroken as error:
                raise _broken(str(error)) from error
            if self._count == 0:
                raise _broken("it has no part")
        return self._received

    def abandon(self) -> None:
        """Give up: nothing of it stays."""
        if self._file is not None:
            self._file.close()
        with suppress(OSError):
            self._received.discard()

    def _inflated(self, chunk: bytes) -> Iterator[bytes]:
        if self._inflater is None:
            yield chunk
            return
        try:
            while chunk:
                yield self._inflater.decompress(chunk, _INFLATED_AT_ONCE)
                chunk = self._inflater.unconsumed_tail
        except zlib.error as error:
            raise _broken("it is not compressed by gzip, though it says so") from error

    def _read(self, reader: PackageReader, data: bytes) -> None:
        try:
            for event in reader.feed(data):
                if isinstance(event, PartHead):
                    self._begin(event)
                elif isinstance(event, PartData):
                    self._add(event.data)
                else:
                    self._end()
        except PackageBroken as error:
            raise _broken(str(error)) from error

    def _begin(self, head: PartHead) -> None:
        self._part = Part(head)
        self._count += 1
        if self._count > 1 and not XML_TYPES.fullmatch(head.content_type):
            self._part.file_name = _safe_name(self._count, head)
            self._file = durable.open_new(self._folder() / self._part.file_name)

    def _add(self, data: bytes) -> None:
        assert self._part is not None  # noqa: S101  data comes after a head
        if self._file is not None:
            ask(self._folder(), partial(self._file.write, data))
        else:
            self._part.data += data
            self._bound(len(self._part.data))

    def _end(self) -> None:
        assert self._part is not None  # noqa: S101
        part, self._part = self._part, None
        if self._file is not None:
            self._file.close()
            self._file = None
        if self._count == 1:
            self._received.jmf = part.data
            self._home = self._admit(part.data)
            return
        name = part.head.content_id
        if name is None:
            return  # nothing can name it
        if name in self._received.parts:
            raise Refused(Finding("package.id-twice", facts={"content_id": name}))
        self._received.parts[name] = part

    def _folder(self) -> Path:
        assert self._home is not None  # noqa: S101  the first part is never a file
        if self._received.folder is None:
            folder = self._home / f"{RECEIVING}{secrets.token_hex(8)}"
            ask(folder, folder.mkdir)
            self._received.folder = folder
        return self._received.folder

    def _bound(self, size: int) -> None:
        if size > self._ticket_bytes:
            raise Refused(Finding("package.too-large", facts={"limit": self._ticket_bytes}))


def _package_reader(content_type: str, most_parts: int) -> PackageReader | None:
    header = Message()
    header["Content-Type"] = content_type
    if header.get_content_type() != "multipart/related":
        return None
    try:
        return PackageReader(str(header.get_param("boundary", "")), most_parts)
    except PackageBroken as error:
        raise _broken(str(error)) from error


def _safe_name(count: int, head: PartHead) -> str:
    """A name of our own: nothing of a path, no device's name, and the ending that tells what it is."""
    said = (head.file_name or head.content_id or "part").replace("\\", "/").rpartition("/")[2]
    name = re.sub(r"[^A-Za-z0-9._-]", "_", said)[-80:]
    ending = "" if "." in name else mimetypes.guess_extension(head.content_type) or ""
    return f"{count:03d}-{name}{ending}"


def _broken(reason: str) -> Refused:
    return Refused(Finding("package.broken", facts={"reason": reason}))


def sweep(home: Path, older_than_s: float | None, now_s: float) -> None:
    """Take away what a crash left of messages that were arriving: nobody was promised anything for them.

    Args:
        home: Where packages lie.
        older_than_s: What is younger may just arrive, at another bridge on the same folders; None where there is none.
        now_s: Now, in seconds since 1970, by the clock that stamps files.
    """
    for folder in ask(home, lambda: list(home.glob(f"{RECEIVING}*"))):
        with suppress(FileNotFoundError):  # it has arrived
            if older_than_s is None or now_s - folder.stat().st_mtime > older_than_s:
                durable.discard_folder(folder)


def sweep_packages(
    home: Path,
    tickets: Iterable[Path],
    orders: Iterable[str],
    now_s: float,
    about_to_s: float = ABOUT_TO_S,
) -> None:
    """Take away what is left of packages whose ticket was never laid down.

    Args:
        home: Where packages lie.
        tickets: Folders with files of which each may still become a job.
        orders: What jobs there are, as text; what an order names is its artwork.
        now_s: Now, in seconds since 1970, by the clock that stamps files.
        about_to_s: So long after the last of its files came, the ticket of a package may yet be laid down.
    """
    lying = {
        folder.name: folder
        for folder in home.glob(f"{PACKAGE}*")
        if _PACKAGE_NAME.fullmatch(folder.name) and now_s - folder.stat().st_mtime > about_to_s
    }
    if not lying:
        return
    for folder in tickets:
        for path in folder.iterdir():
            if path.is_file():
                _forget(lying, path.read_bytes().decode("latin-1"))
    for order in orders:
        _forget(lying, order)
    for folder in lying.values():
        durable.discard_folder(folder)


def _forget(lying: dict[str, Path], text: str) -> None:
    """What is named in a text is not left over."""
    for name in _PACKAGE_NAME.findall(text):
        lying.pop(name, None)
