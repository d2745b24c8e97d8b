"""Passwords of partners: kept as hashes in a file, compared without telling how far they fit."""

import hashlib
import hmac
import secrets
from base64 import b64decode, b64encode
from collections.abc import Mapping
from pathlib import Path
from typing import Final

COST: Final = 2**14
"""scrypt's N: about 50 ms and 16 MiB for each guess on a machine of 2026 (RFC 7914 names 2^14 for logins)."""
_BLOCK, _LANES = 8, 1


def hash_of(password: str) -> str:
    """The hash of a password with a fresh salt, for the file."""
    salt = secrets.token_bytes(16)
    return f"scrypt${COST}${b64encode(salt).decode()}${b64encode(_scrypt(password, salt, COST)).decode()}"


def read_passwords(file: Path) -> dict[str, str]:
    """Hashes by user. Lines that begin with ``#`` and empty ones are passed over.

    Raises:
        OSError: The file is not there.
        ValueError: A line is not ``user:hash``.
    """
    hashes = {}
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        user, _, hashed = text.partition(":")
        if not user or len(hashed.split("$")) != 4:
            raise ValueError(f"{file}:{number} is not user:hash; `ticketbridge password` makes such a line")
        hashes[user] = hashed
    return hashes


class Doorkeeper:
    """Checks passwords, and remembers the right ones for as long as the process lives: scrypt is slow by design."""

    def __init__(self, hashes: Mapping[str, str]) -> None:
        self._hashes = hashes
        self._key = secrets.token_bytes(32)
        self._known: dict[str, bytes] = {}
        self._nobody = hash_of(secrets.token_hex())

    def lets_in(self, user: str, password: str) -> bool:
        """Whether this is the user's password. A user that is unknown takes as long as a wrong password."""
        mark = hmac.digest(self._key, f"{user}\0{password}".encode(), "sha256")
        if user in self._known and hmac.compare_digest(self._known[user], mark):
            return True
        _, cost, salt, wanted = self._hashes.get(user, self._nobody).split("$")
        got = _scrypt(password, b64decode(salt), int(cost))
        if hmac.compare_digest(got, b64decode(wanted)) and user in self._hashes:
            self._known[user] = mark
            return True
        return False


def _scrypt(password: str, salt: bytes, cost: int) -> bytes:
    return hashlib.scrypt(password.encode(), salt=salt, n=cost, r=_BLOCK, p=_LANES, maxmem=64 * 1024**2)
