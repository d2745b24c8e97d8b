"""What a traced program did to the files below a folder, read from strace's record (strace(1), -f -y -xx).

Threads overlap, so each call has a beginning and an end. Calls that failed changed nothing and are left out; a call
of a kind that is not read here is an error, so that nothing can pass unnoticed.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

READ: Final = (
    "open,openat,creat,write,pwrite64,truncate,ftruncate,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat,"
    "rmdir,fsync,fdatasync,sendto"
)
"""Kinds of calls that are understood."""
NOT_READ: Final = (
    "writev,pwritev,fallocate,copy_file_range,sendfile,link,linkat,symlink,symlinkat,sync,syncfs,sendmsg"
)
"""Kinds that would change files or make them durable, and are not expected below the folder."""

HEX: Final = r"(?:\\x[0-9a-f]{2})*"
LINE: Final = re.compile(r"(\d+) +(.*)", re.DOTALL)
CALL: Final = re.compile(r"(\w+)\((.*)\) += (-?\d+|\?)(.*)", re.DOTALL)
WORD: Final = re.compile(rf'"({HEX})"(\.\.\.)?|(AT_FDCWD|\d+)<({HEX})>(?:\(deleted\))?|([\w|]+)')
UNFINISHED: Final = " <unfinished ...>"
RESUMED: Final = re.compile(r"<\.\.\. \w+ resumed>(.*)", re.DOTALL)
DELETED: Final = " (deleted)"


@dataclass(eq=False, slots=True)
class Call:
    """One call that succeeded.

    Attributes:
        pid: The thread.
        name: Which call.
        paths: What it concerns, relative to the folder; of a rename the old and the new name.
        data: What was written or sent.
        flags: Of an open.
        offset: Where a pwrite began; None where the file's own place counts.
        length: Of a truncate.
        descriptor: The number of the open file.
    """

    pid: int
    name: str
    paths: tuple[str, ...] = ()
    data: bytes = b""
    flags: frozenset[str] = frozenset()
    offset: int | None = None
    length: int = 0
    descriptor: int = -1

    @property
    def is_sync(self) -> bool:
        return self.name in ("fsync", "fdatasync")


@dataclass(frozen=True, slots=True)
class Moment:
    """The beginning or the end of a call."""

    call: Call
    ends: bool


@dataclass
class _Open:
    text: str
    beginning: list[Call] = field(default_factory=list)


def moments(trace: Path, root: Path) -> list[Moment]:
    """Everything that concerns the folder, in the order in which it began and ended."""
    lines = [LINE.fullmatch(line) for line in trace.read_text(encoding="ascii").splitlines()]
    pairs = [(int(found[1]), found[2]) for found in lines if found is not None]
    whole = list(_whole_lines(pairs))
    calls = {end: call for end, (pid, text, _) in enumerate(whole) if (call := _call(pid, text, root))}
    begins = {begin: calls[end] for end, (_, _, begin) in enumerate(whole) if end in calls}
    ends = {place: calls[end] for end, place in enumerate(_ends(pairs)) if end in calls}
    found = []
    for place in range(len(pairs)):
        if place in begins:
            found.append(Moment(begins[place], ends=False))
        if place in ends:
            found.append(Moment(ends[place], ends=True))
    return found


def _whole_lines(pairs: list[tuple[int, str]]) -> Iterator[tuple[int, str, int]]:
    """Calls in the order of their ends: thread, text put together, and the line where each began."""
    waiting: dict[int, tuple[str, int]] = {}
    for place, (pid, text) in enumerate(pairs):
        if text.endswith(UNFINISHED):
            waiting[pid] = (text.removesuffix(UNFINISHED), place)
        elif (rest := RESUMED.fullmatch(text)) is not None:
            beginning, began = waiting.pop(pid)
            yield pid, beginning + rest[1], began
        else:
            yield pid, text, place


def _ends(pairs: list[tuple[int, str]]) -> list[int]:
    return [place for place, (_, text) in enumerate(pairs) if not text.endswith(UNFINISHED)]


def _call(pid: int, text: str, root: Path) -> Call | None:
    found = CALL.fullmatch(text)
    if found is None or found[3].startswith("-") or found[3] == "?":
        return None
    name, result = found[1], int(found[3])
    words = list(WORD.finditer(found[2]))
    texts = [_bytes(word[1]) for word in words if word[1] is not None]
    if name == "sendto":
        return Call(pid, name, data=texts[0] if texts else b"")
    opened = [(word[3], _bytes(word[4]).decode()) for word in words if word[3] is not None]
    if name in ("open", "openat", "creat"):
        opened = [(str(result), path) for _, path in _descriptors(f"{result}{found[4]}")]
    if name in ("write", "pwrite64", "ftruncate", "fsync", "fdatasync", "open", "openat", "creat"):
        paths = [path.removesuffix(DELETED) for _, path in opened[:1] if not path.endswith(DELETED)]
    else:
        bases = [path for _, path in opened] or [""]
        paths = [str(Path(bases[min(i, len(bases) - 1)]) / one.decode()) for i, one in enumerate(texts)]
    inside = tuple(str(Path(path).relative_to(root)) for path in paths if Path(path).is_relative_to(root))
    if not inside:
        return None
    if name not in READ.split(","):
        raise ValueError(f"a call that is not understood: {name} on {inside}")
    if any(word[2] for word in words):
        raise ValueError(f"strace cut what was written to {inside}")
    numbers = [int(word[5]) for word in words if word[5] and word[5].isdigit()]
    return Call(
        pid,
        name,
        inside,
        data=texts[0][: max(result, 0)] if name in ("write", "pwrite64") else b"",
        flags=frozenset(flag for word in words if word[5] for flag in word[5].split("|")),
        offset=numbers[-1] if name == "pwrite64" else None,
        length=numbers[-1] if name in ("truncate", "ftruncate") else 0,
        descriptor=int(opened[0][0]) if opened and opened[0][0].isdigit() else -1,
    )


def _descriptors(text: str) -> list[tuple[str, str]]:
    return [(word[3], _bytes(word[4]).decode()) for word in WORD.finditer(text) if word[3] is not None]


def _bytes(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))
