"""Reading XML that came from outside: no entities, no document type, no network, no endless file."""

import os
from pathlib import Path
from typing import Final

from lxml import etree

LIMIT_BYTES: Final = 64 * 1024 * 1024
"""A ticket of 10,000 placements is about 2 MB; what is larger than this is no ticket."""


class NotReadable(Exception):
    """The file is not XML that may be read; the message says why."""


def parse(data: bytes) -> "etree._Element":
    """The root of a document.

    Comments and unknown elements stay, so that the document can be written back as it came.

    Raises:
        NotReadable: Not well-formed, a document type declaration, or beyond the limits of the parser.
    """
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as problem:
        raise NotReadable(f"line {problem.lineno}: not well-formed XML: {problem.msg}") from None
    except ValueError as problem:
        raise NotReadable(f"not well-formed XML: {problem}") from None
    if root.getroottree().docinfo.doctype:
        raise NotReadable("it has a document type declaration, which no ticket needs")
    return root


def read(path: Path, limit_bytes: int = LIMIT_BYTES) -> "etree._Element":
    """The root of a file; never follows a link.

    Raises:
        NotReadable: As ``parse``, or the file is larger than ``limit_bytes``.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC)
    except PermissionError:
        raise NotReadable("the press has no right to read it") from None
    with os.fdopen(descriptor, "rb") as file:
        data = file.read(limit_bytes + 1)
    if len(data) > limit_bytes:
        raise NotReadable(f"it is larger than {limit_bytes} bytes")
    return parse(data)
