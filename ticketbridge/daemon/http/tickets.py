"""The ticket that a message names: in its package, in an allowed folder, or at an allowed address; nowhere else.

What may not be named and what is not there are refused before anything is opened or called, so that a refusal
says nothing of the machine or of the network behind it (CWE-22, CWE-59, CWE-918).
"""

import os
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Final
from urllib.parse import unquote, urlsplit

import httpx2

from ticketbridge.daemon.http.receiving import Received, Refused
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import Element, as_bytes
from ticketbridge.model.finding import Finding
from ticketbridge.model.jmf_partner import JmfSender
from ticketbridge.model.shop import Limits
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask_of_any
from ticketbridge.vocabulary.urls import url_begins_with

FETCH_S: Final = 10.0
"""For each wait of a fetch."""
FETCH_WHOLE_S: Final = 30.0
"""For a whole fetch."""


def find_ticket(url: str, sender: JmfSender, received: Received, shop_folder: Path, limits: Limits) -> bytes:
    """The ticket's bytes, its references to parts of the package and to its own folder made whole.

    Args:
        url: As the message has it.
        sender: Who sent it; what it may name.
        received: The package it came in.
        shop_folder: Relative folders count from here.
        limits: What a single ticket may ask of the machine.

    Raises:
        Refused: It may not be named, or cannot be had.
        XmlRefused: It is no XML that is read.
    """
    scheme = url.partition(":")[0].casefold()
    if scheme == "cid":
        return _whole(_of_package(url, received, limits.ticket_bytes), received, None, limits)
    if scheme == "file":
        path = _allowed_file(url, [shop_folder / folder for folder in sender.ticket_folders])
        data = _read(path, url, limits.ticket_bytes)
        return _whole(data, received, path.parent, limits)
    if scheme in ("http", "https"):
        return _fetched(url, sender.ticket_urls, limits.ticket_bytes)
    raise _not_taken(url)


def _of_package(url: str, received: Received, most_bytes: int) -> bytes:
    name = unquote(url.partition(":")[2])
    part = received.parts.get(name)
    if part is None:
        raise Refused(Finding("package.part-missing", facts={"content_id": name}))
    path = received.path_of(part)
    return part.data if path is None else durable.read(path, most_bytes)


def _allowed_file(url: str, folders: Sequence[Path]) -> Path:
    try:
        parts = urlsplit(url)
    except ValueError as error:
        raise _not_taken(url) from error
    text = unquote(parts.path)
    if parts.netloc not in ("", "localhost") or "\x00" in text or not text.startswith("/"):
        raise _not_taken(url)
    resolved = _without_links(Path(text))
    if not any(resolved.is_relative_to(_without_links(folder)) for folder in folders):
        raise _not_taken(url)
    return resolved


def _without_links(path: Path) -> Path:
    return Path(ask_of_any(path, partial(os.path.realpath, path)))


def _read(path: Path, url: str, most_bytes: int) -> bytes:
    try:
        if not ask_of_any(path, path.is_file):
            raise FileNotFoundError(2, "there is no such file")
        return ask_of_any(path, lambda: durable.read(path, most_bytes))
    except ShareHangs:
        raise
    except OSError as error:
        facts = {"url": url, "reason": error.strerror or "it cannot be read"}
        raise Refused(Finding("ticket.url-unreachable", facts=facts)) from error


def _fetched(url: str, prefixes: Sequence[str], most_bytes: int) -> bytes:
    """One GET to an allowed address; redirects and environment proxies are not followed."""
    if not url_begins_with(url, prefixes):
        raise _not_taken(url)
    data, until_s = bytearray(), time.monotonic() + FETCH_WHOLE_S
    try:
        with (
            httpx2.Client(timeout=FETCH_S, follow_redirects=False, trust_env=False) as client,
            client.stream("GET", url) as answer,
        ):
            if answer.status_code != httpx2.codes.OK:
                raise _not_had(url, f"it is answered with {answer.status_code}")
            for chunk in answer.iter_bytes():
                data += chunk
                if len(data) > most_bytes:
                    raise Refused(Finding("package.too-large", facts={"limit": most_bytes}))
                if time.monotonic() > until_s:
                    raise _not_had(url, f"it did not come within {FETCH_WHOLE_S:g} s")
    except httpx2.HTTPError as error:
        raise _not_had(url, type(error).__name__) from error
    return bytes(data)


def _whole(data: bytes, received: Received, folder: Path | None, limits: Limits) -> bytes:
    """The ticket with URLs that are still true when it lies elsewhere: of parts kept on disk, and of its folder."""
    if folder is None and b"cid:" not in data:
        return data
    root = parse(data, limits, "ticket")
    for element in root.iter():
        url = element.get("URL")
        if isinstance(element.tag, str) and url is not None:
            _point(element, url, received, folder)
    return as_bytes(root)


def _point(element: Element, url: str, received: Received, folder: Path | None) -> None:
    if url.casefold().startswith("cid:"):
        name = unquote(url.partition(":")[2])
        part = received.parts.get(name)
        path = None if part is None else received.path_of(part)
        if path is None:
            raise Refused(Finding("package.part-missing", facts={"content_id": name}))
        element.set("URL", path.as_uri())
    elif folder is not None and not urlsplit(url).scheme and not url.startswith(("/", "\\")):
        element.set("URL", (folder / unquote(url)).as_uri())


def _not_taken(url: str) -> Refused:
    return Refused(Finding("ticket.url-refused", facts={"url": url}))


def _not_had(url: str, reason: str) -> Refused:
    return Refused(Finding("ticket.url-unreachable", facts={"url": url, "reason": reason}))
