"""Writing and renaming files so that neither a kill nor a power cut leaves half of one."""

import os
from pathlib import Path


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def temporary_for(path: Path) -> Path:
    """Where a file is written before it gets its name: a dot name, which folder watchers pass over."""
    return path.with_name(f".{path.name}.tmp")


def stage(path: Path, data: bytes) -> None:
    """Write the whole file under its temporary name, durably."""
    temporary = temporary_for(path)
    with temporary.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    sync_folder(path.parent)


def publish(path: Path) -> None:
    """Give a staged file its name."""
    os.replace(temporary_for(path), path)
    sync_folder(path.parent)


def write(path: Path, data: bytes) -> None:
    """A whole file under its name; readers never see a part of it."""
    stage(path, data)
    publish(path)


def move(source: Path, target: Path) -> None:
    """Rename on one file system and make both folders durable.

    Raises:
        FileNotFoundError: The source is gone.
    """
    os.rename(source, target)
    sync_folder(target.parent)
    sync_folder(source.parent)
