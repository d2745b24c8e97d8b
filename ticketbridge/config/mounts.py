"""Which file system a folder lies on, from the kernel's own list of mounts (proc_pid_mountinfo(5))."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

MOUNTINFO: Final = Path("/proc/self/mountinfo")

NETWORK_FILE_SYSTEMS: Final = frozenset(
    {
        "9p", "afs", "beegfs", "ceph", "cifs", "davfs", "fuse.ceph", "fuse.davfs", "fuse.glusterfs",
        "fuse.gvfsd-fuse", "fuse.mount.davfs", "fuse.rclone", "fuse.s3fs", "fuse.smbnetfs", "fuse.sshfs", "glusterfs",
        "lustre", "ncpfs", "nfs", "nfs4", "smb3", "smbfs",
    }
)  # fmt: skip
"""Types as mountinfo writes them. They send no events to this kernel and do not lock as SQLite needs it."""


@dataclass(frozen=True, slots=True)
class Mount:
    """One line of the kernel's list.

    Attributes:
        point: Where it is mounted.
        kind: Type of the file system, such as ``ext4`` or ``cifs``.
        source: What is mounted there, such as ``//nas/jobs``.
    """

    point: Path
    kind: str
    source: str

    @property
    def over_network(self) -> bool:
        """Whether another machine holds the files."""
        return self.kind in NETWORK_FILE_SYSTEMS

    def __str__(self) -> str:
        """``//nas/jobs (cifs) mounted at /srv/jobs``."""
        return f"{self.source} ({self.kind}) mounted at {self.point}"


def mounts_from(text: str) -> tuple[Mount, ...]:
    """Reads the text of mountinfo: the mount point is field 5; type and source follow the lone hyphen."""
    return tuple(_mount(line) for line in text.splitlines() if " - " in line)


def mount_of(folder: Path, mounts: Iterable[Mount]) -> Mount | None:
    """The mount that a folder lies on: the longest mount point above it, the later of two equal ones."""
    folder = folder.resolve()
    above = [mount for mount in mounts if folder.is_relative_to(mount.point)]
    return max(enumerate(above), key=lambda one: (len(one[1].point.parts), one[0]))[1] if above else None


def _mount(line: str) -> Mount:
    before, _, after = line.partition(" - ")
    kind, source = after.split(" ")[:2]
    return Mount(Path(_plain(before.split(" ")[4])), kind, _plain(source))


def _plain(field: str) -> str:
    r"""Blanks and such are written as ``\040``, three octal digits a byte."""
    return re.sub(r"\\([0-7]{3})", lambda digits: chr(int(digits[1], 8)), field)
