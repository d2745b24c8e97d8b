"""Archives: plain ZIP files that any program opens, each with a manifest of hashes inside. Never changed once written.

Names inside are those below the shop folder, so that an archive unpacked there puts everything back in its place.
"""

import hashlib
import json
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final

from ticketbridge.spool import durable
from ticketbridge.spool.gates import asked

MANIFEST: Final = "manifest.json"
_FORMAT: Final = "ticketbridge archive 1"


class ArchiveBroken(Exception):
    """An archive does not hold what its manifest says."""


@dataclass(frozen=True, slots=True)
class ToArchive:
    """Something that goes into an archive.

    Attributes:
        name: Its name inside, below the shop folder.
        path: The file; None where the content is given.
        content: Bytes of what is no file.
    """

    name: str
    path: Path | None
    content: bytes = b""


def write_archive(
    folder: Path, name: str, things: Sequence[ToArchive], beat: Callable[[], None] = lambda: None
) -> tuple[Path, dict[str, str]]:
    """Write an archive, read it back, and show it under the first free name when it is whole and durable.

    Args:
        folder: Where archives lie; made where it is not there.
        name: Month and kind, such as ``2026-11-tickets``.
        things: What goes in.
        beat: Called between two parts of large files.

    Returns:
        The archive, and the hash of everything in it by its name. A file that was gone by then is not among them.

    Raises:
        OSError: Something cannot be read, or the disk does not take it.
        ArchiveBroken: What was written does not read back.
    """
    folder.mkdir(exist_ok=True)
    target, count = folder / f"{name}.zip", 1
    while target.exists():
        count += 1
        target = folder / f"{name}-{count}.zip"
    temporary = target.with_name(f".{target.name}.tmp")
    durable.remove_note(temporary)
    try:
        hashes = _write(temporary, things, beat)
        prove_archive(temporary, beat)
    except BaseException:
        durable.remove_note(temporary)
        raise
    durable.move(temporary, target)
    durable.sync_folder(folder)
    return target, hashes


def prove_archive(path: Path, beat: Callable[[], None] = lambda: None) -> int:
    """Read everything in an archive and compare it with the manifest. Returns how many files it holds.

    Raises:
        ArchiveBroken: It does not hold what its manifest says.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = json.loads(archive.read(MANIFEST))
            hashes: dict[str, str] = manifest["sha256"]
            for name, sha256 in hashes.items():
                with archive.open(name) as file:
                    if _hash(file, beat) != sha256:
                        raise ArchiveBroken(f"{name} has another content")
            more = set(archive.namelist()) - set(hashes) - {MANIFEST}
    except (OSError, zipfile.BadZipFile, zlib.error, ValueError, TypeError, KeyError, EOFError) as error:
        raise ArchiveBroken(str(error) or type(error).__name__) from error
    if more:
        raise ArchiveBroken(f"{min(more)} is not in its manifest")
    return len(hashes)


def archives_in(folder: Path) -> list[Path]:
    """The archives that lie in a folder, sorted; none where it is not there."""
    return sorted(folder.glob("*.zip")) if folder.is_dir() else []


def _write(path: Path, things: Sequence[ToArchive], beat: Callable[[], None]) -> dict[str, str]:
    hashes: dict[str, str] = {}
    with durable.open_new(path) as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for thing in things:
            sha256 = _put(archive, thing, beat)
            if sha256 is not None:
                hashes[thing.name] = sha256
        archive.writestr(MANIFEST, json.dumps({"format": _FORMAT, "sha256": hashes}, indent=1))
    durable.sync_file(path)
    return hashes


def _put(archive: zipfile.ZipFile, thing: ToArchive, beat: Callable[[], None]) -> str | None:
    if thing.path is None:
        archive.writestr(thing.name, thing.content)
        return hashlib.sha256(thing.content).hexdigest()
    return _put_file(thing.path, archive, thing, beat)


@asked
def _put_file(path: Path, archive: zipfile.ZipFile, thing: ToArchive, beat: Callable[[], None]) -> str | None:
    try:
        info = zipfile.ZipInfo.from_file(path, thing.name, strict_timestamps=False)
    except FileNotFoundError:  # somebody took it meanwhile, as people may
        return None
    info.compress_type = zipfile.ZIP_DEFLATED
    digest = hashlib.sha256()
    with path.open("rb") as file, archive.open(info, "w") as into:
        for part in _parts(file):
            digest.update(part)
            into.write(part)
            beat()
    return digest.hexdigest()


def _hash(file: IO[bytes], beat: Callable[[], None]) -> str:
    digest = hashlib.sha256()
    for part in _parts(file):
        digest.update(part)
        beat()
    return digest.hexdigest()


def _parts(file: IO[Any]) -> Iterator[bytes]:
    while part := file.read(durable.COPIED_AT_ONCE):
        yield part
