"""A backup: one compressed tar file of a shop folder with a manifest of hashes at its end, and its way back.

Any tar program reads it. The manifest comes last, so a backup that broke off in the middle has none.
"""

import hashlib
import io
import json
import os
import stat
import tarfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any, Final

from ticketbridge.spool import durable

MANIFEST: Final = "backup.json"
_FORMAT: Final = "ticketbridge backup 1"
_LEVEL: Final = 1
"""Of compression: artwork is compressed already, and a bridge runs beside."""


class BackupBroken(Exception):
    """A file is no backup, or not a whole one."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself.

    Attributes:
        made_at: When the store was copied, ISO 8601.
        version: Of the program that made it.
        shop_folder: Where the shop lay, absolute.
        hashes: SHA-256 of each file in hex, by its name below the shop folder.
    """

    made_at: str
    version: str
    shop_folder: str
    hashes: Mapping[str, str]


class BackupWriter:
    """Writes a backup that shows under its name only when it is whole and durable."""

    def __init__(self, target: Path) -> None:
        """Begin.

        Raises:
            FileExistsError: Something lies under that name; a backup never replaces another.
            OSError: Nothing can be written there.
        """
        if os.path.lexists(target):
            raise FileExistsError(target)
        self._target = target
        self.temporary = target.with_name(f".{target.name}.tmp")
        durable.remove_note(self.temporary)
        self._file = durable.open_new(self.temporary)
        self._tar = tarfile.open(  # noqa: SIM115  closed by finish
            fileobj=self._file, mode="w:gz", compresslevel=_LEVEL, format=tarfile.PAX_FORMAT
        )
        self.hashes: dict[str, str] = {}

    def add_folder(self, name: str, folder: Path) -> None:
        """A folder by itself, with its mode and owner."""
        info = self._tar.gettarinfo(folder, name)
        self._tar.addfile(info)

    def add(self, name: str, path: Path) -> bool:
        """A file as it is now; False where it is gone by now, or is no plain file. No link is followed."""
        try:
            descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as error:
            if isinstance(error, PermissionError):
                raise
            return False
        with os.fdopen(descriptor, "rb") as file:
            if not stat.S_ISREG(os.fstat(descriptor).st_mode):
                return False
            info = self._tar.gettarinfo(arcname=name, fileobj=file)
            info.type, info.linkname = tarfile.REGTYPE, ""  # a second name of one file is a file of its own
            info.size = os.fstat(descriptor).st_size
            reader = _Hashing(file, info.size)
            self._tar.addfile(info, reader)
        self.hashes[name] = reader.hexdigest()
        return True

    def finish(self, made_at: str, version: str, shop_folder: Path) -> None:
        """Write the manifest, make it all durable and show it."""
        said = {
            "format": _FORMAT,
            "made_at": made_at,
            "version": version,
            "shop_folder": str(shop_folder),
            "sha256": self.hashes,
        }
        content = json.dumps(said, indent=1).encode("utf-8", "surrogateescape")
        info = tarfile.TarInfo(MANIFEST)
        info.size = len(content)
        self._tar.addfile(info, io.BytesIO(content))
        self._tar.close()
        self._file.close()
        durable.sync_file(self.temporary)
        durable.move(self.temporary, self._target)
        durable.sync_folder(self._target.parent)

    def give_up(self) -> None:
        """Leave nothing behind."""
        self._file.close()
        durable.remove_note(self.temporary)


class _Hashing:
    """Reads exactly so many bytes, and hashes them; one that is cut short meanwhile is filled up with zeros."""

    def __init__(self, file: IO[bytes], size: int) -> None:
        self._file, self._left = file, size
        self._digest = hashlib.sha256()

    def read(self, size: int = -1, /) -> bytes:
        wanted = self._left if size < 0 else min(size, self._left)
        data = self._file.read(wanted) or bytes(wanted)
        self._left -= len(data)
        self._digest.update(data)
        return data

    def hexdigest(self) -> str:
        return self._digest.hexdigest()


def unpack(backup: Path, folder: Path, last: str) -> Manifest:
    """Unpack into a new or empty folder and prove every hash. The file named ``last`` is left to the caller.

    Owners are restored where the system allows it, modes always.

    Raises:
        BackupBroken: It is no whole backup.
        OSError: The disk does not take it.
    """
    found: dict[str, str] = {}
    manifest: dict[str, Any] | None = None
    folder.mkdir(parents=True, exist_ok=True)
    modes: list[tuple[Path, tarfile.TarInfo]] = []
    try:
        with tarfile.open(backup, "r:gz") as tar:
            for info in tar:
                if manifest is not None:
                    raise BackupBroken(f"{info.name} comes after its end")
                if info.name == MANIFEST:
                    manifest = _manifest(tar, info)
                    continue
                target = folder / _safe(info.name)
                if info.isdir():
                    target.mkdir(parents=True, exist_ok=True)
                    modes.append((target, info))
                elif info.isreg():
                    found[info.name] = _write(tar, info, None if info.name == last else target)
                else:
                    raise BackupBroken(f"{info.name} is neither file nor folder")
    except (tarfile.TarError, EOFError, zlib.error, ValueError, KeyError, TypeError) as error:
        raise BackupBroken(str(error) or type(error).__name__) from error
    except OSError as error:
        if error.errno is None:  # gzip's own complaints
            raise BackupBroken(str(error)) from error
        raise
    for path, info in reversed(modes):
        _dress(path, info)
    return _proved(manifest, found)


def _proved(manifest: dict[str, Any] | None, found: Mapping[str, str]) -> Manifest:
    if manifest is None:
        raise BackupBroken("it ends before its manifest")
    hashes = dict(manifest["sha256"])
    for name in sorted(hashes.keys() | found.keys()):
        if hashes.get(name) != found.get(name):
            raise BackupBroken(f"{name} is missing or has another content")
    return Manifest(manifest["made_at"], manifest["version"], manifest["shop_folder"], hashes)


def _manifest(tar: tarfile.TarFile, info: tarfile.TarInfo) -> dict[str, Any]:
    said = json.loads(b"".join(_parts(tar, info)).decode("utf-8", "surrogateescape"))
    if said.get("format") != _FORMAT:
        raise BackupBroken(f"its format is {said.get('format')}, which this version does not read")
    return dict(said)


def _write(tar: tarfile.TarFile, info: tarfile.TarInfo, target: Path | None) -> str:
    digest = hashlib.sha256()
    if target is None:
        for part in _parts(tar, info):
            digest.update(part)
        return digest.hexdigest()
    target.parent.mkdir(parents=True, exist_ok=True)
    with durable.open_new(target) as file:
        for part in _parts(tar, info):
            digest.update(part)
            file.write(part)
    durable.sync_file(target)
    _dress(target, info)
    return digest.hexdigest()


def _dress(path: Path, info: tarfile.TarInfo) -> None:
    """Owner, mode and time as they were."""
    if os.geteuid() == 0:
        os.chown(path, info.uid, info.gid)
    path.chmod(info.mode & 0o7777)
    os.utime(path, (info.mtime, info.mtime))


def _parts(tar: tarfile.TarFile, info: tarfile.TarInfo) -> Iterator[bytes]:
    file = tar.extractfile(info)
    while file is not None and (part := file.read(durable.COPIED_AT_ONCE)):
        yield part


def _safe(name: str) -> PurePosixPath:
    """Names lie below the folder, whoever made the file."""
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or not path.parts:
        raise BackupBroken(f"{name} would lie outside")
    return path


def files_below(folder: Path, without: Iterable[Path] = ()) -> Iterator[Path]:
    """Files and folders below a folder, folders first, no links; those named and what is below them are left out."""
    left_out = set(without)
    for entry in sorted(os.scandir(folder), key=lambda one: one.name):
        path = Path(entry.path)
        if path in left_out or entry.is_symlink():
            continue
        yield path
        if entry.is_dir():
            yield from files_below(path, left_out)
