"""What makes two versions of a mapping the same: the content of every file that it is made of."""

import hashlib
from collections.abc import Mapping


def hash_of(files: Mapping[str, bytes]) -> str:
    """SHA-256 over names and contents, in hex."""
    digest = hashlib.sha256()
    for name in sorted(files):
        digest.update(f"{name}\0{len(files[name])}\0".encode() + files[name])
    return digest.hexdigest()
