"""Whether an address lies below another: compared by what it means, not by its letters."""

from collections.abc import Sequence
from urllib.parse import SplitResult, unquote, urlsplit


def url_begins_with(url: str, prefixes: Sequence[str]) -> bool:
    """Whether an address begins with one of these, by scheme, host, port and whole steps of its path.

    Steps back, sign-ins inside the address, fragments and control characters are refused, however they are
    written: two programs may read such an address in two ways.
    """
    asked = _split(url)
    if asked is None or any(letter <= " " or letter in "\\\x7f" for letter in url):
        return False
    steps = unquote(unquote(asked.path)).replace("\\", "/").split("/")
    if asked.username is not None or asked.fragment or ".." in steps:
        return False
    return any(_below(asked, allowed) for allowed in map(_split, prefixes) if allowed is not None)


def _split(url: str) -> SplitResult | None:
    try:
        parts = urlsplit(url)
        _ = parts.port  # reading it is what finds a port that is none
    except ValueError:
        return None
    return parts


def _below(asked: SplitResult, allowed: SplitResult) -> bool:
    if (asked.scheme, asked.hostname, asked.port) != (allowed.scheme, allowed.hostname, allowed.port):
        return False
    home = allowed.path if allowed.path.endswith("/") else f"{allowed.path}/"
    return f"{asked.path}/".startswith(home)
