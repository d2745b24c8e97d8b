"""Packages (``multipart/related``, RFC 2387): a JMF with the ticket that it names by ``cid:``."""

from collections.abc import Mapping
from email import message_from_bytes
from email.policy import HTTP
from typing import Final

from ticketbridge.vocabulary.names import JDF_CONTENT_TYPE, JMF_CONTENT_TYPE

_BOUNDARY: Final = "press-sim-boundary-7f3a9c"


class NotAParcel(Exception):
    """The body is not a package that can be read."""


def unpacked(content_type: str, body: bytes) -> tuple[bytes, Mapping[str, bytes]]:
    """The JMF, and the other parts by Content-ID; a plain JMF has none.

    Raises:
        NotAParcel: It says it is a package and is none.
    """
    if not content_type.lower().startswith("multipart/related"):
        return body, {}
    mail = message_from_bytes(f"Content-Type: {content_type}\r\n\r\n".encode() + body, policy=HTTP)
    parts = [part for part in mail.walk() if not part.is_multipart()]
    contents = [part.get_payload(decode=True) for part in parts]
    if mail.defects or not all(isinstance(content, bytes) for content in contents):
        raise NotAParcel("the package cannot be read")
    whole = [content for content in contents if isinstance(content, bytes)]
    names = [str(part.get("Content-ID", "")).strip("<> ") for part in parts]
    return whole[0], dict(zip(names[1:], whole[1:], strict=True))


def packed(jmf: bytes, ticket: bytes) -> tuple[bytes, str]:
    """A JMF that names its ticket ``cid:ticket``, and the content type of both together."""
    body = b""
    for name, content_type, data in (
        ("jmf", JMF_CONTENT_TYPE, jmf),
        ("ticket", JDF_CONTENT_TYPE, ticket),
    ):
        head = f"--{_BOUNDARY}\r\nContent-Type: {content_type}\r\nContent-ID: <{name}>\r\n\r\n"
        body += head.encode() + data + b"\r\n"
    return body + f"--{_BOUNDARY}--\r\n".encode(), f"multipart/related; boundary={_BOUNDARY}"
