"""The only code of the bridge that writes, renames or syncs a file.

What is promised rests on the order of these calls, so they stand together: bytes into a temporary file,
sync of the file, sync of its folder, rename, sync of the folder (POSIX gives nothing weaker a name).
"""

import hashlib
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO, Final

from ticketbridge.spool.gates import asked, still_going
from ticketbridge.vocabulary.names import MARKER_NAME

COPIED_AT_ONCE: Final = 4 * 1024 * 1024
"""Bytes of a large file read and written at once."""
LEAST_READ: Final = 64 * 1024
"""Bytes asked for at once of a small file, or of one that grows."""


class PlaceNotReady(Exception):
    """A folder is not there, or its share is not mounted: nothing may be read or written in it now."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"{folder} has no {MARKER_NAME} marker: the folder is missing or its share is not mounted"
        )
        self.folder = folder


_HOMES: Final[dict[Path, tuple[int, Path]]] = {}
"""On which device each folder was when it was first found ready, and where that device is mounted."""


class ContentDiffers(Exception):
    """What was copied has not the hash that it should have."""


class NameTaken(Exception):
    """Something lies under the name already; nothing is ever replaced."""


@asked
def require_ready(folder: Path) -> None:
    """Prove that the folder is ours and mounted.

    A marker that somebody made below a mount point, while nothing was mounted there, does not deceive a bridge
    that has seen the folder mounted: it knows the device. A share that was mounted anew may have another device.

    Raises:
        PlaceNotReady: The marker file is not there, or what was mounted is not.
    """
    try:
        marker = (folder / MARKER_NAME).stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise PlaceNotReady(folder) from error
    if not stat.S_ISREG(marker.st_mode):
        raise PlaceNotReady(folder)
    known = _HOMES.get(folder)
    if known is None:
        _HOMES[folder] = (marker.st_dev, _mount_point(folder))
    elif known[0] != marker.st_dev:
        if _mount_point(folder) != known[1]:
            raise PlaceNotReady(folder)
        _HOMES[folder] = (marker.st_dev, known[1])


def _mount_point(folder: Path) -> Path:
    place = folder.resolve()
    while not place.is_mount():
        place = place.parent
    return place


@asked
def free_mb(folder: Path) -> float:
    """Megabytes (millions of bytes) that this account may still write on the folder's file system.

    Raises:
        OSError: The folder is not there.
    """
    found = os.statvfs(folder)
    return found.f_bavail * found.f_frsize / 1_000_000


def read(path: Path, limit_bytes: int) -> bytes:
    """The file's content. Never follows a link and never waits on a pipe.

    Reads at most one byte more than the limit, so that the caller sees that it is too large.

    Raises:
        OSError: It is gone, a link, or not to be read by this account.
    """
    return _read(path, limit_bytes, sync=False)


def read_and_sync(path: Path, limit_bytes: int) -> bytes:
    """The same, made durable: what was read is what a power cut leaves."""
    return _read(path, limit_bytes, sync=True)


@asked
def _read(path: Path, limit_bytes: int, *, sync: bool) -> bytes:
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        data = _all_of(descriptor, limit_bytes + 1)
        if sync:
            os.fsync(descriptor)
    finally:
        os.close(descriptor)
    return data


def _all_of(descriptor: int, most_bytes: int) -> bytes:
    """Read by the size that the file has now, as room for the largest ticket would be taken and given back each time."""
    expected = max(os.fstat(descriptor).st_size + 1, LEAST_READ)
    parts: list[bytes] = []
    while most_bytes and (part := os.read(descriptor, min(expected, most_bytes))):
        parts.append(part)
        most_bytes -= len(part)
    return b"".join(parts)


@asked
def read_end(path: Path, length: int) -> bytes:
    """The last bytes of a file; never follows a link and never waits on a pipe.

    Raises:
        OSError: It is gone, a link, or not to be read by this account.
    """
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    with os.fdopen(descriptor, "rb") as file:
        file.seek(max(0, os.fstat(descriptor).st_size - length))
        return file.read(length)


@asked
def size(path: Path) -> int:
    """Bytes of a file; 0 where it is gone."""
    try:
        return path.lstat().st_size
    except FileNotFoundError:
        return 0


@asked
def is_there(path: Path) -> bool:
    """Whether a name is in its folder, whatever it stands for."""
    return os.path.lexists(path)


@asked
def write_and_sync(path: Path, data: bytes) -> None:
    """Put a file of our own in place and make its content durable; its name needs ``sync_folder`` too."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW | os.O_CLOEXEC, 0o664)
    try:
        left = memoryview(data)
        while left:
            left = left[os.write(descriptor, left) :]
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@asked
def write_unsynced(path: Path, data: bytes) -> None:
    """A file that a crash may cost, such as a note for people whose truth is in the store."""
    path.write_bytes(data)


@asked
def remove_note(path: Path) -> None:
    """Take away a note of our own making that says something no longer true."""
    path.unlink(missing_ok=True)


@asked
def sync_file(path: Path) -> None:
    """Make the content of a file durable; a file that somebody took meanwhile needs it no more."""
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    except FileNotFoundError:
        return
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@asked
def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def copy_checked(source: Path, target: Path, sha256: str, stopped: Callable[[], bool]) -> None:
    """A large file copied under a temporary name, hashed on the way, and renamed when it is right and durable.

    Args:
        source: A regular file; no link is followed.
        target: Its name says its content, so a file there already is the same.
        sha256: What its content must hash to, in hex.
        stopped: Asked between two parts; True breaks it off, and leaves nothing but the temporary file.

    Raises:
        PlaceNotReady: The target's folder is not there.
        ContentDiffers: The content is another.
        OSError: The source cannot be read, or the target's disk refuses.
    """
    require_ready(target.parent)
    temporary = target.with_name(f".{target.name}.tmp")
    digest = hashlib.sha256()
    reading = os.open(source, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    with os.fdopen(reading, "rb") as file, temporary.open("wb") as copy:
        while part := file.read(COPIED_AT_ONCE):
            if stopped():
                return
            digest.update(part)
            copy.write(part)
        copy.flush()
        os.fsync(copy.fileno())
    if digest.hexdigest() != sha256:
        temporary.unlink()
        raise ContentDiffers(str(source))
    os.replace(temporary, target)
    sync_folder(target.parent)


@asked
def copies_in(folder: Path) -> list[Path]:
    """The copies in a lane's folder, half ones among them; none where the folder is away."""
    try:
        require_ready(folder)
        return [path for path in folder.iterdir() if path.name != MARKER_NAME and path.is_file()]
    except (OSError, PlaceNotReady):
        return []


@asked
def remove_copy(path: Path) -> None:
    """Take away a copy of our own making that no job needs."""
    path.unlink(missing_ok=True)


@asked
def hash_now(path: Path) -> str:
    """SHA-256 of a file's content in hex; never follows a link.

    Raises:
        OSError: It is gone, a link, or not to be read by this account.
    """
    digest = hashlib.sha256()
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    with os.fdopen(descriptor, "rb") as file:
        while part := file.read(COPIED_AT_ONCE):
            digest.update(part)
            still_going()
    return digest.hexdigest()


@asked
def remove_archived(path: Path, sha256: str) -> bool:
    """Take away a file that stands in an archive with that hash. False where it is another by now, or gone."""
    try:
        same = hash_now(path) == sha256
        if same:
            path.unlink()
    except FileNotFoundError:
        return False
    return same


@asked
def move(source: Path, target: Path) -> None:
    """Rename on one file system. Targets are fresh names of our own, so a taken one is a fault to stop at.

    Raises:
        NameTaken: Something lies at the target.
        FileNotFoundError: The source is gone: somebody else has it.
    """
    if os.path.lexists(target):
        raise NameTaken(str(target))
    os.rename(source, target)


@asked
def write_new(path: Path, data: bytes) -> None:
    """A whole new file, durable under its name when this returns; readers never see a part of it.

    Raises:
        NameTaken: Something lies under that name.
    """
    temporary = path.with_name(f".{path.name}.tmp")
    write_and_sync(temporary, data)
    move(temporary, path)
    sync_folder(path.parent)


@asked
def show_new(path: Path, data: bytes) -> None:
    """A whole new file that readers never see a part of, not yet durable: ``sync_file`` and ``sync_folder`` follow."""
    temporary = path.with_name(f".{path.name}.tmp")
    temporary.write_bytes(data)
    os.replace(temporary, path)


@asked
def open_new(path: Path) -> BinaryIO:
    """A new file to be filled bit by bit; ``settle_folder`` makes it durable.

    Raises:
        FileExistsError: Something lies under that name.
    """
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
    return os.fdopen(os.open(path, flags, 0o664), "wb")


@asked
def settle_folder(source: Path, target: Path) -> None:
    """Make a folder of our own durable with its files, and show it under its name.

    Raises:
        NameTaken: Something lies at the target.
    """
    for path in source.iterdir():
        sync_file(path)
    sync_folder(source)
    move(source, target)
    sync_folder(target.parent)


@asked
def discard_folder(folder: Path) -> None:
    """Take away a folder of our own making with the files in it."""
    if folder.is_dir():
        for path in folder.iterdir():
            path.unlink()
        folder.rmdir()
