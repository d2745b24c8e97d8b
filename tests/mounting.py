"""Small file systems of our own, for tests that fill, take away or lock one."""

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def small_disk(folder: Path, size_mb: int) -> Iterator[None]:
    """A file system in memory on an empty folder; takes the right to mount, without which the test is skipped."""
    mount("-t", "tmpfs", "-o", f"size={size_mb}m,mode=0755", "tmpfs", str(folder), or_skip=True)
    try:
        yield
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=False, capture_output=True)


def mount(*words: str, or_skip: bool = False) -> None:
    """Call mount(8)."""
    done = subprocess.run(["mount", *words], capture_output=True, text=True)
    if done.returncode and or_skip:
        pytest.skip(f"this account may not mount a file system: {done.stderr.strip()}")
    assert done.returncode == 0, done.stderr
