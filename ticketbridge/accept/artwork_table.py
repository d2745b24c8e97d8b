"""Artwork paths by table: from how the MIS writes a path to a file here, and on to how the press writes it.

Shares, drives and URLs are brought into one form with forward slashes before they are compared. Windows does
not tell capitals apart, so shares and drives are compared without them. A prefix ends where a name ends.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import quote, unquote, urlsplit

_DRIVE: Final = re.compile(r"[A-Za-z]:/")


@dataclass(frozen=True, slots=True)
class PathRow:
    """A row of the table, its folder resolved."""

    mis: str
    here: Path
    press: str | None


def path_here(written: str, rows: Sequence[PathRow]) -> Path | None:
    """The file that a path of the MIS means, by the first row that fits; None where none does.

    Whether it lies where it may is for the caller to check: the rest of the path is taken as it stands.

    Raises:
        ValueError: It cannot be taken apart as a URL.
    """
    said = _one_form(written)
    for row in rows:
        rest = _rest(said, _one_form(row.mis).rstrip("/"))
        if rest is not None:
            return row.here / rest
    return None


def url_for_press(path: Path, rows: Sequence[PathRow]) -> str:
    """The URL that the press opens: by the first row with a form for the press whose folder holds the file."""
    for row in rows:
        if row.press is not None and path.is_relative_to(row.here):
            rest = path.relative_to(row.here).as_posix()
            return f"{_url_prefix(row.press)}/{quote(rest)}"
    return path.as_uri()


def _one_form(written: str) -> str:
    """``//server/share/a``, ``X:/a``, ``/a`` or ``scheme://host/a``, escapes of URLs decoded once."""
    slashed = written.replace("\\", "/")
    if written.startswith("\\\\") or _DRIVE.match(slashed):
        return slashed
    parts = urlsplit(written)
    path = unquote(parts.path)
    if parts.scheme == "file":
        host = "" if parts.netloc in ("", "localhost") else f"//{parts.netloc}"
        return path[1:] if not host and _DRIVE.match(path[1:]) else host + path
    if parts.scheme:
        return f"{parts.scheme}://{parts.netloc.casefold()}{path}"
    return f"//{parts.netloc}{path}" if parts.netloc else path


def _rest(said: str, prefix: str) -> str | None:
    """What comes behind the prefix, without a slash before it."""
    begin = said[: len(prefix)]
    blind = prefix.startswith("//") or _DRIVE.match(f"{prefix}/") is not None
    fits = begin.casefold() == prefix.casefold() if blind else begin == prefix
    rest = said[len(prefix) :]
    return rest.lstrip("/") if fits and rest.startswith("/") else None


def _url_prefix(press: str) -> str:
    form = _one_form(press).rstrip("/")
    if form.startswith("//"):
        return f"file:{quote(form)}"
    if _DRIVE.match(f"{form}/"):
        return f"file:///{form[:2]}{quote(form[2:])}"
    if form.startswith("/") or not form:
        return f"file://{quote(form)}"
    scheme, _, path = form.partition("://")
    return f"{scheme}://{quote(path, safe='/:@[]')}"
