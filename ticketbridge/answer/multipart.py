"""A package (``multipart/related``, RFC 2387 and RFC 2046) read as it arrives: bytes in, parts out, nothing kept.

A reader of our own, as none at hand streams: the standard library's reads a whole message into memory, and
the readers made for web forms want names in each part and refuse a preamble. It keeps no more of a package
than one part's head, or a few bytes that may be the beginning of a boundary.

One reading for everything that may be read in two ways: lines may end in LF alone, what stands before the first
boundary and after the last is passed over, a package in a package is refused, and so is a head that names
one of our fields twice.
"""

import binascii
from collections.abc import Iterator
from dataclasses import dataclass
from email.message import Message
from email.parser import BytesHeaderParser
from typing import Final

HEAD_BYTES: Final = 16 * 1024
"""Largest head of a part."""
PREAMBLE_BYTES: Final = 64 * 1024
"""Most bytes before the first boundary."""
BOUNDARY_CHARACTERS: Final = 70
"""Longest boundary (RFC 2046)."""
LINE_BYTES: Final = 64 * 1024
"""Longest line of quoted-printable."""
_PADDING: Final = 64
"""Most blanks after a boundary."""
_FIELDS: Final = ("Content-Type", "Content-ID", "Content-Transfer-Encoding", "Content-Disposition")


class PackageBroken(Exception):
    """The package cannot be read; the text says why, in words for people."""


@dataclass(frozen=True, slots=True)
class PartHead:
    """What a part says of itself.

    Attributes:
        content_type: Lower case, without parameters.
        content_id: Without its angle brackets; None where it has none.
        file_name: As given; never to be used as a path.
        encoding: ``Content-Transfer-Encoding``, lower case.
    """

    content_type: str
    content_id: str | None
    file_name: str | None
    encoding: str


@dataclass(frozen=True, slots=True)
class PartData:
    """Some bytes of the part begun last, decoded."""

    data: bytes


@dataclass(frozen=True, slots=True)
class PartEnd:
    """The part begun last is whole."""


Event = PartHead | PartData | PartEnd


class PackageReader:
    """Reads one package."""

    def __init__(self, boundary: str, most_parts: int) -> None:
        """Begin.

        Raises:
            PackageBroken: The boundary is none.
        """
        if not boundary.strip() or len(boundary) > BOUNDARY_CHARACTERS or not boundary.isascii():
            raise PackageBroken("its boundary is missing, only blanks, or longer than 70 characters")
        self._mark = b"\n--" + boundary.encode("ascii")
        self._most_parts = most_parts
        self._parts = 0
        self._buffer = b"\n"  # so that a boundary at the very start is found like any other
        self._passed_over = 0
        self._decoder: _Decoder | None = None
        self._skip = 0
        """Bytes at the beginning of the buffer that are no content."""
        self._step = self._preamble

    def feed(self, data: bytes) -> Iterator[Event]:
        """What these bytes complete.

        Raises:
            PackageBroken: The package cannot be read.
        """
        self._buffer += data
        while True:
            before = self._step
            yield from self._step()
            if self._step == before:
                return

    def close(self) -> None:
        """The bytes have ended.

        Raises:
            PackageBroken: The last boundary was not among them.
        """
        if self._step != self._epilogue:
            raise PackageBroken("its last boundary is missing")

    def _preamble(self) -> Iterator[Event]:
        found = self._find_mark()
        kept = len(self._buffer)
        if found is not None:
            self._after_mark(found)
        else:
            self._buffer = self._buffer[-self._may_begin() :]
        self._passed_over += kept - len(self._buffer)
        if self._passed_over > PREAMBLE_BYTES + len(self._mark):
            raise PackageBroken("its first boundary does not come")
        yield from ()

    def _head(self) -> Iterator[Event]:
        end, width = self._head_end()
        if max(end, 0) > HEAD_BYTES or (end < 0 and len(self._buffer) > HEAD_BYTES):
            raise PackageBroken(f"the head of a part has more than {HEAD_BYTES} bytes")
        if end < 0:
            return
        raw, self._buffer = self._buffer[:end], self._buffer[end + width :]
        head = _read_head(raw)
        self._parts += 1
        if self._parts > self._most_parts:
            raise PackageBroken(f"it has more than {self._most_parts} parts")
        if head.content_type.startswith("multipart/"):
            raise PackageBroken("it holds a package inside the package")
        self._decoder = _decoder(head.encoding)
        self._buffer, self._skip = b"\n" + self._buffer, 1  # an empty part has its boundary right here
        self._step = self._body
        yield head

    def _head_end(self) -> tuple[int, int]:
        """Where the empty line is and how long; a part without a head begins with it."""
        for mark in (b"\r\n", b"\n"):
            if self._buffer.startswith(mark):
                return 0, len(mark)
        ends = [(at, len(mark)) for mark in (b"\n\r\n", b"\n\n") if (at := self._buffer.find(mark)) >= 0]
        at, width = min(ends, default=(-1, 0))
        return at, width

    def _body(self) -> Iterator[Event]:
        assert self._decoder is not None  # noqa: S101  set with the step
        found = self._find_mark()
        end = len(self._buffer) - self._may_begin() if found is None else self._line_end_before(found)
        if end > self._skip:
            data = self._decoder.decode(self._buffer[self._skip : end])
            self._buffer, self._skip = self._buffer[end:], 0
            if data:
                yield PartData(data)
        if found is None:
            return
        if rest := self._decoder.end():
            yield PartData(rest)
        yield PartEnd()
        self._after_mark(self._buffer.index(self._mark))

    def _epilogue(self) -> Iterator[Event]:
        self._buffer = b""
        yield from ()

    def _find_mark(self) -> int | None:
        """Where a whole boundary line begins; what only looks like one is content."""
        at = self._buffer.find(self._mark)
        while at >= 0:
            line = self._buffer[at + len(self._mark) :]
            if line.startswith(b"--"):
                return at
            rest = line.lstrip(b" \t")
            if rest.startswith((b"\n", b"\r\n")) and len(line) - len(rest) <= _PADDING:
                return at
            if len(line) <= _PADDING and rest in (b"", b"\r", b"-"):  # the line goes on with the next bytes
                return None
            at = self._buffer.find(self._mark, at + 1)
        return None

    def _may_begin(self) -> int:
        """How many bytes at the end of the buffer may be the beginning of a boundary line."""
        longest = len(self._mark) + _PADDING + 4
        tail = self._buffer[-longest:]
        at = tail.find(self._mark)
        while at >= 0:
            line = tail[at + len(self._mark) :]
            if line.lstrip(b" \t") in (b"", b"\r", b"-"):
                break
            at = tail.find(self._mark, at + 1)
        if at < 0:
            at = next((n for n in range(len(tail)) if self._mark.startswith(tail[n:])), len(tail))
        return max(len(tail) - self._line_end_before(at, tail), 1)

    def _line_end_before(self, at: int, text: bytes | None = None) -> int:
        """Where the line end begins whose LF stands at that place: there, or at the CR before it."""
        before = (self._buffer if text is None else text)[max(at - 1, 0) : at]
        return at - 1 if before == b"\r" else at

    def _after_mark(self, at: int) -> None:
        line = self._buffer[at + len(self._mark) :]
        if line.startswith(b"--"):
            self._buffer, self._step = b"", self._epilogue
            return
        self._buffer, self._step = line[line.index(b"\n") + 1 :], self._head


def _read_head(raw: bytes) -> PartHead:
    if b"\r" in (raw + b"\n").replace(b"\r\n", b"\n") or b"\x00" in raw:
        raise PackageBroken("the head of a part holds control characters")
    fields: Message = BytesHeaderParser().parsebytes(raw + b"\n\n")
    for name in _FIELDS:
        if len(fields.get_all(name, ())) > 1:
            raise PackageBroken(f"the head of a part says {name} twice")
    content_id = str(fields.get("Content-ID", "")).strip().removeprefix("<").removesuffix(">") or None
    encoding = str(fields.get("Content-Transfer-Encoding", "binary")).strip().lower()
    return PartHead(fields.get_content_type(), content_id, fields.get_filename(), encoding)


class _Decoder:
    """Bytes as they are."""

    def decode(self, data: bytes) -> bytes:
        return data

    def end(self) -> bytes:
        return b""


class _Base64(_Decoder):
    def __init__(self) -> None:
        self._left = b""

    def decode(self, data: bytes) -> bytes:
        text = self._left + data.translate(None, b" \t\r\n")
        whole = len(text) - len(text) % 4
        self._left = text[whole:]
        return self._decoded(text[:whole])

    def end(self) -> bytes:
        if self._left:
            raise PackageBroken("a part's base64 is cut off")
        return b""

    @staticmethod
    def _decoded(text: bytes) -> bytes:
        try:
            return binascii.a2b_base64(text, strict_mode=True) if text else b""
        except binascii.Error as error:
            raise PackageBroken("a part is no base64, though it says so") from error


class _QuotedPrintable(_Decoder):
    def __init__(self) -> None:
        self._left = b""

    def decode(self, data: bytes) -> bytes:
        text = self._left + data
        whole = text.rfind(b"\n") + 1
        self._left = text[whole:]
        if len(self._left) > LINE_BYTES:
            raise PackageBroken(f"a line of quoted-printable has more than {LINE_BYTES} bytes")
        return binascii.a2b_qp(text[:whole])

    def end(self) -> bytes:
        return binascii.a2b_qp(self._left)


def _decoder(encoding: str) -> _Decoder:
    if encoding in ("7bit", "8bit", "binary"):
        return _Decoder()
    if encoding == "base64":
        return _Base64()
    if encoding == "quoted-printable":
        return _QuotedPrintable()
    raise PackageBroken(
        "a part has a transfer encoding that is not read; binary, base64 and quoted-printable are"
    )
