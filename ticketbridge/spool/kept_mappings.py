"""Every version of a mapping that went live, kept in the state folder so that one can be put back.

A version is the content of all files that the mapping is made of: its own, the one it is based on, its spreadsheets.
The same content is the same version; a new content gets the next number.
"""

import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ticketbridge.model.mapping_version import hash_of
from ticketbridge.spool import durable

LARGEST_FILE_BYTES: Final = 8 * 1024 * 1024
SHOWN: Final = 12
"""Digits of the hash that name a version beside its number."""
_FOLDER: Final = re.compile(rf"(\d+)-([0-9a-f]{{{SHOWN}}})")


@dataclass(frozen=True, slots=True)
class Version:
    """One version that went live: its number from 1, the first digits of its hash, the folder with its files."""

    number: int
    sha256: str
    folder: Path

    def files(self) -> dict[str, bytes]:
        """Its files by name."""
        return {path.name: path.read_bytes() for path in sorted(self.folder.iterdir())}


def content_of(files: Sequence[Path]) -> dict[str, bytes]:
    """The content of a mapping's files by name.

    Raises:
        OSError: One cannot be read.
    """
    found = {}
    for file in files:
        with file.open("rb") as stream:
            found[file.name] = stream.read(LARGEST_FILE_BYTES)
    return found


def versions(home: Path, mapping_id: str) -> list[Version]:
    """The versions of a mapping that are kept, the oldest first.

    Args:
        home: The folder that all mappings' versions lie in.
        mapping_id: The mapping.
    """
    folder = home / mapping_id
    found = [
        Version(int(named[1]), named[2], path)
        for path in (folder.iterdir() if folder.is_dir() else ())
        if (named := _FOLDER.fullmatch(path.name))
    ]
    return sorted(found, key=lambda version: version.number)


def keep(home: Path, mapping_id: str, files: Mapping[str, bytes]) -> Version:
    """Keep a version, whole or not at all, and say which number it has; one that is kept already keeps its number.

    Raises:
        OSError: It cannot be written.
    """
    known = versions(home, mapping_id)
    sha256 = hash_of(files)[:SHOWN]
    for version in known:
        if version.sha256 == sha256:
            return version
    number = known[-1].number + 1 if known else 1
    folder = home / mapping_id / f"{number:04}-{sha256}"
    making = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.tmp")
    making.mkdir(parents=True)
    for name, data in files.items():
        durable.write_and_sync(making / name, data)
    durable.sync_folder(making)
    try:
        durable.move(making, folder)
    except (durable.NameTaken, OSError):
        if not folder.is_dir():
            raise
        durable.discard_folder(making)  # another bridge on this shop was quicker
    durable.sync_folder(folder.parent)
    return Version(number, sha256, folder)


def put_back(version: Version, own: Sequence[Path]) -> list[Path]:
    """Write a version's files over a mapping's own ones.

    Args:
        version: The version.
        own: The files that belong to this mapping alone, as they lie now; others of the version are left alone.

    Returns:
        The files that were written, because they differed.
    """
    content = version.files()
    written = []
    for file in own:
        if file.name in content and (not file.exists() or file.read_bytes() != content[file.name]):
            durable.show_new(file, content[file.name])
            durable.sync_file(file)
            written.append(file)
    for folder in {file.parent for file in written}:
        durable.sync_folder(folder)
    return written


def set_aside(home: Path, mapping_id: str, files: Mapping[str, bytes]) -> Path | None:
    """Keep files that are about to be replaced; None where every one is kept as part of a version already."""
    kept = [version.files() for version in versions(home, mapping_id)]
    if all(any(files[name] == one.get(name) for one in kept) for name in files):
        return None
    folder = home / mapping_id / f"set-aside-{hash_of(files)[:SHOWN]}"
    folder.mkdir(exist_ok=True)
    for name, data in files.items():
        durable.write_and_sync(folder / name, data)
    durable.sync_folder(folder)
    return folder
