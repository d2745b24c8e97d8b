"""Where a ticket's artwork lies: resolved against the drop folder, kept inside the allowed folders, hashed.

A ticket may name any path or host, so the name is decoded once, resolved, and only then compared with the
folders that the shop allows; nothing else is opened (CWE-22, CWE-59, CWE-918).
"""

import hashlib
import os
import stat
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import unquote, urlsplit

from ticketbridge.accept.artwork_table import PathRow, path_here, url_for_press
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.order import Artwork
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask_of_any, asked

_hashes: dict[tuple[str, int, int, int], str] = {}
MOST_HASHES = 10_000


class ArtworkRefused(Exception):
    """The artwork cannot be used; the finding says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.code)
        self.finding = finding


def find_artwork(
    url: str,
    *,
    mime_type: str | None,
    page: int,
    beside: Path,
    roots: Sequence[Path],
    place: Place,
    rows: Sequence[PathRow] = (),
) -> Artwork:
    """The artwork that a ticket means.

    Args:
        url: As the ticket has it: what a row of the table begins with, a file URL of this machine, or a
            relative reference.
        mime_type: As the ticket has it.
        page: Page in the file, from 0 or, negative, from the end.
        beside: The folder that the ticket was dropped in; relative references count from there.
        roots: Folders that artwork may lie in, resolved.
        place: Where the ticket names it, for the finding.
        rows: The table of artwork paths.

    Returns:
        The artwork under the URL that the press opens.

    Raises:
        ArtworkRefused: Another scheme or host, outside the roots, not there, or no regular file.
        ShareHangs: Its share does not answer, so nothing can be said of it now.
    """
    path = _path_of(url, beside, place, rows)
    return ask_of_any(path, lambda: _found(path, url, mime_type, page, roots, place, rows))


def _found(
    path: Path,
    url: str,
    mime_type: str | None,
    page: int,
    roots: Sequence[Path],
    place: Place,
    rows: Sequence[PathRow],
) -> Artwork:
    resolved = Path(os.path.realpath(path))
    if not any(resolved.is_relative_to(root) for root in roots):
        raise ArtworkRefused(Finding("artwork.outside", place, {"url": url}))
    try:
        status = resolved.stat()
        sha256 = hash_of(resolved)
    except FileNotFoundError as error:
        raise ArtworkRefused(
            Finding("artwork.missing", place, {"url": url, "path": str(resolved)})
        ) from error
    except ShareHangs:
        raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise ArtworkRefused(Finding("artwork.unreadable", place, {"url": url, "reason": reason})) from error
    return Artwork(
        url=url_for_press(resolved, rows),
        mime_type=mime_type,
        page=page,
        sha256=sha256,
        path=str(resolved),
        size_bytes=status.st_size,
        modified_ns=status.st_mtime_ns,
    )


def _path_of(url: str, beside: Path, place: Place, rows: Sequence[PathRow]) -> Path:
    if "\x00" in unquote(url):
        raise ArtworkRefused(Finding("artwork.scheme", place, {"url": url}))
    try:
        found = path_here(url, rows)
        parts = urlsplit(url)
    except ValueError as error:
        raise ArtworkRefused(Finding("artwork.scheme", place, {"url": url})) from error
    if found is not None:
        return found
    if parts.scheme == "file" and parts.netloc in ("", "localhost"):
        return Path(unquote(parts.path))
    if parts.scheme or parts.netloc or "\\" in url:
        raise ArtworkRefused(Finding("artwork.scheme", place, {"url": url}))
    return beside / unquote(parts.path)


@asked
def hash_of(path: Path) -> str:
    """SHA-256 of a regular file, in hex, opened without following a link and checked on the open handle.

    Raises:
        OSError: It is not there, not to be read, or no regular file.
    """
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        status = os.fstat(descriptor)
        if not stat.S_ISREG(status.st_mode):
            raise OSError(0, "it is not a regular file")
        key = (str(path), status.st_ino, status.st_size, status.st_mtime_ns)
        if key not in _hashes:
            if len(_hashes) >= MOST_HASHES:
                _hashes.clear()
            with os.fdopen(descriptor, "rb", closefd=False) as file:
                _hashes[key] = hashlib.file_digest(file, "sha256").hexdigest()
    finally:
        os.close(descriptor)
    return _hashes[key]
