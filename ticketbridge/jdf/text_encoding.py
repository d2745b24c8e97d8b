"""Which bytes are text, decided before any parser sees them.

Five encodings are read; everything else is refused by name. A label that the bytes contradict is refused
too: whoever guesses there prints the wrong customer's name.
"""

import codecs
import re
from typing import Final

SUPPORTED: Final = "UTF-8, US-ASCII, UTF-16 with a byte order mark, ISO-8859-1, windows-1252"

_CODECS: Final = {
    "utf-8": "utf-8",
    "us-ascii": "ascii",
    "utf-16": "utf-16",
    "iso-8859-1": "latin-1",
    "windows-1252": "cp1252",
}
"""Names as IANA registers them, with Python's codec."""

_OTHER_NAMES: Final = {
    "ascii": "us-ascii",
    "utf8": "utf-8",
    "iso_8859-1": "iso-8859-1",
    "cp1252": "windows-1252",
}
"""Names that are not the registered ones and met all the same."""

_MARKS: Final = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
"""Byte order marks; the longer ones first, because UTF-32's begins like UTF-16's."""

_WITHOUT_MARK: Final = (
    (b"\x00\x00\x00<", "UTF-32 without a byte order mark"),
    (b"<\x00\x00\x00", "UTF-32 without a byte order mark"),
    (b"\x00<", "UTF-16 without a byte order mark"),
    (b"<\x00", "UTF-16 without a byte order mark"),
    (b"\x4c\x6f\xa7\x94", "EBCDIC"),
)
"""First bytes of documents in encodings that are not read (XML 1.0, appendix F)."""

_DECLARATION: Final = re.compile(
    r"<\?xml\s{1,20}version\s{0,20}=\s{0,20}[\"']1\.\d[\"']"
    r"\s{1,20}encoding\s{0,20}=\s{0,20}[\"']([A-Za-z][A-Za-z0-9._-]{0,40})[\"']",
    re.ASCII,
)

_NOT_CHARACTERS: Final = re.compile(
    "[\ufdd0-\ufdef\ufffe\uffff"
    + "".join(chr(plane * 0x10000 + end) for plane in range(1, 17) for end in (0xFFFE, 0xFFFF))
    + "]"
)
"""Code points that Unicode reserves for ever (Unicode standard, section 23.7)."""


class EncodingRefused(Exception):
    """The bytes are not text in an encoding that is read.

    Attributes:
        encoding: The encoding met or claimed.
        contradiction: What contradicts the claim; None where the encoding itself is not read.
    """

    def __init__(self, encoding: str, contradiction: str | None = None) -> None:
        super().__init__(encoding)
        self.encoding = encoding
        self.contradiction = contradiction


def as_text(data: bytes) -> str:
    """The document as text, without its byte order mark.

    Raises:
        EncodingRefused: The encoding is not read, or the bytes contradict their label.
    """
    mark, marked = next(((mark, name) for mark, name in _MARKS if data.startswith(mark)), (b"", None))
    if marked == "UTF-32":
        raise EncodingRefused("UTF-32")
    if marked is None:
        for first, name in _WITHOUT_MARK:
            if data.startswith(first):
                raise EncodingRefused(name)
    declared = _declared(data, marked)
    encoding = declared or marked or "utf-8"
    if encoding not in _CODECS:
        raise EncodingRefused(encoding)
    if marked is not None and encoding != marked:
        raise EncodingRefused(encoding, f"the byte order mark says {marked}")
    if encoding == "utf-16" and marked is None:
        raise EncodingRefused(encoding, "there is no byte order mark")
    return _decoded(data if marked == "utf-16" else data[len(mark) :], encoding)


def _declared(data: bytes, marked: str | None) -> str | None:
    head = data[:400].decode("utf-16" if marked == "utf-16" else "latin-1", "replace")
    found = _DECLARATION.match(head.removeprefix("\xef\xbb\xbf"))
    if found is None:
        return None
    name = found.group(1).lower()
    return _OTHER_NAMES.get(name, name)


def _decoded(data: bytes, encoding: str) -> str:
    try:
        text = data.decode(_CODECS[encoding])
    except UnicodeDecodeError as error:
        raise EncodingRefused(encoding, f"byte {error.start + 1} is no {encoding}") from error
    if text.startswith("\ufeff"):
        raise EncodingRefused(encoding, "there are two byte order marks")
    if not text.isascii() and _NOT_CHARACTERS.search(text):
        raise EncodingRefused(encoding, "it holds code points that are no characters")
    return text
