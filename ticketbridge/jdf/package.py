"""A JMF and the ticket that it names, as one body (``multipart/related``, RFC 2387)."""

import hashlib
from typing import Final

from ticketbridge.vocabulary.names import JDF_CONTENT_TYPE, JMF_CONTENT_TYPE

TICKET_URL: Final = "cid:ticket"
"""What the JMF calls its ticket."""


def package(jmf: bytes, ticket: bytes) -> bytes:
    """The two in one body; the same two always make the same bytes."""
    boundary = f"ticketbridge-{hashlib.sha256(jmf + ticket).hexdigest()[:32]}"
    body = b""
    for name, content_type, data in (
        ("message", JMF_CONTENT_TYPE, jmf),
        ("ticket", JDF_CONTENT_TYPE, ticket),
    ):
        head = f"--{boundary}\r\nContent-Type: {content_type}\r\nContent-ID: <{name}>\r\n"
        body += f"{head}Content-Transfer-Encoding: binary\r\n\r\n".encode() + data + b"\r\n"
    return body + f"--{boundary}--\r\n".encode()


def content_type_of(body: bytes, file_name: str = "") -> str:
    """The content type of a body that the bridge made: a package, a ticket by its name, else a JMF."""
    if body.startswith(b"--"):
        boundary = body[2 : body.index(b"\r\n")].decode()
        return f'multipart/related; boundary="{boundary}"; type="{JMF_CONTENT_TYPE}"; start="<message>"'
    return JDF_CONTENT_TYPE if file_name.endswith(".jdf") else JMF_CONTENT_TYPE
