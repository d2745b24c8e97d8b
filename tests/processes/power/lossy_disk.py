"""A disk that keeps nothing but what was synced, as POSIX allows one to be.

- The content of a file is kept as it was when its last fsync or fdatasync began.
- A name is kept from an fsync of its folder on. A rename is one step: both names change or neither, and an fsync of
  either folder keeps it, with the earlier steps of the same file that it builds on.
- What was not synced may be kept all the same, in part or as a whole; ``images`` gives the outermost cases.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from tests.processes.power.system_calls import Call, Moment


@dataclass(eq=False)
class File:
    """A file: what programs see, and what a power cut leaves of it."""

    now: bytearray = field(default_factory=bytearray)
    kept: bytes = b""


@dataclass(eq=False)
class Folder:
    """A folder: the names that programs see, and those that a power cut leaves."""

    now: "dict[str, File | Folder]" = field(default_factory=dict)
    kept: "dict[str, File | Folder]" = field(default_factory=dict)


Node = File | Folder
Edit = tuple[Folder, str, Node | None]


@dataclass(eq=False)
class Step:
    """One change of names, in one piece."""

    edits: tuple[Edit, ...]

    def concerns(self, folder: Folder) -> bool:
        return any(edit[0] is folder for edit in self.edits)

    def builds_on(self, other: "Step") -> bool:
        """Whether the other, earlier one touches the same file or the same name."""
        mine = {id(node) for _, _, node in self.edits if node} | {(id(f), name) for f, name, _ in self.edits}
        its = {id(node) for _, _, node in other.edits if node} | {(id(f), name) for f, name, _ in other.edits}
        return bool(mine & its)


@dataclass(frozen=True)
class Image:
    """What lies on the disk after a power cut: content by path."""

    case: str
    files: dict[str, bytes]


WITHOUT: Final = "nothing but what was synced"
NAMES: Final = "all names, and content as it was synced"
CONTENT: Final = "all content, and names as they were synced"
OLDEST: Final = "what was synced and the oldest change of names"
NEWEST: Final = "what was synced and the newest change of names"
ALL: Final = "everything"


class LossyDisk:
    """Replays calls."""

    def __init__(self, folder: Path) -> None:
        """Begin with a folder as it lies there, all of it kept."""
        self.root = _read(folder)
        self.unsynced: list[Step] = []
        self._places: dict[tuple[int, str], int] = {}
        self._syncing: dict[int, tuple[Node, bytes | int]] = {}
        self.changes = 0
        """Grows with each change of what a power cut would leave."""

    def play(self, moment: Moment) -> None:
        """The next moment. A sync covers what was done when it began, and holds from its end on."""
        call = moment.call
        if call.is_sync:
            if moment.ends:
                self._sync_ends(call)
            else:
                self._sync_begins(call)
        elif moment.ends:
            self._change(call)

    def images(self) -> Iterator[Image]:
        """What a power cut at this moment may leave."""
        steps = self.unsynced
        yield Image(WITHOUT, self._files([], kept=True))
        if steps:
            yield Image(NAMES, self._files(steps, kept=True))
            yield Image(OLDEST, self._files(self._with_grounds(steps[0]), kept=True))
            yield Image(NEWEST, self._files(self._with_grounds(steps[-1]), kept=True))
        yield Image(CONTENT, self._files([], kept=False))
        yield Image(ALL, self._files(steps, kept=False))

    def at(self, path: str) -> Node | None:
        """What lies under a path for programs."""
        node: Node | None = self.root
        for name in Path(path).parts:
            node = node.now.get(name) if isinstance(node, Folder) else None
        return node

    def _change(self, call: Call) -> None:
        match call.name:
            case "open" | "openat" | "creat":
                self._open(call)
            case "write" | "pwrite64":
                self._write(call)
            case "truncate" | "ftruncate":
                file = self._file(call.paths[0])
                del file.now[call.length :]
                file.now.extend(bytes(call.length - len(file.now)))
            case "rename" | "renameat" | "renameat2":
                (old, old_name), (new, new_name) = self._spot(call.paths[0]), self._spot(call.paths[1])
                self._step((old, old_name, None), (new, new_name, old.now[old_name]))
            case "unlink" | "unlinkat" | "rmdir":
                folder, name = self._spot(call.paths[0])
                self._step((folder, name, None))
            case "mkdir" | "mkdirat":
                folder, name = self._spot(call.paths[0])
                self._step((folder, name, Folder()))

    def _open(self, call: Call) -> None:
        folder, name = self._spot(call.paths[0])
        if "O_CREAT" in call.flags and name not in folder.now:
            self._step((folder, name, File()))
        node = folder.now.get(name, self.root)
        if isinstance(node, File):
            if "O_TRUNC" in call.flags:
                node.now.clear()
            end = len(node.now) if "O_APPEND" in call.flags else 0
            self._places[call.descriptor, call.paths[0]] = end

    def _write(self, call: Call) -> None:
        file = self._file(call.paths[0])
        key = (call.descriptor, call.paths[0])
        begin = call.offset if call.offset is not None else self._places.get(key, 0)
        if begin > len(file.now):
            file.now.extend(bytes(begin - len(file.now)))
        file.now[begin : begin + len(call.data)] = call.data
        if call.offset is None:
            self._places[key] = begin + len(call.data)

    def _sync_begins(self, call: Call) -> None:
        node = self.at(call.paths[0])
        if isinstance(node, File):
            self._syncing[id(call)] = (node, bytes(node.now))
        elif node is not None:
            self._syncing[id(call)] = (node, len(self.unsynced))

    def _sync_ends(self, call: Call) -> None:
        node, state = self._syncing.pop(id(call), (None, 0))
        if isinstance(node, File) and isinstance(state, bytes):
            node.kept = state
        elif isinstance(node, Folder) and isinstance(state, int):
            for step in [step for step in self.unsynced[:state] if step.concerns(node)]:
                for one in self._with_grounds(step):
                    self._keep(one)
        self.changes += 1

    def _keep(self, step: Step) -> None:
        self.unsynced.remove(step)
        for folder, name, node in step.edits:
            _set(folder.kept, name, node)

    def _step(self, *edits: Edit) -> None:
        for folder, name, node in edits:
            _set(folder.now, name, node)
        self.unsynced.append(Step(edits))

    def _with_grounds(self, step: Step) -> list[Step]:
        """A step that is not kept yet, after those that it builds on; none where it is kept."""
        if step not in self.unsynced:
            return []
        wanted = [step]
        for earlier in reversed(self.unsynced[: self.unsynced.index(step)]):
            if any(one.builds_on(earlier) for one in wanted):
                wanted.append(earlier)
        return wanted[::-1]

    def _files(self, steps: Sequence[Step], *, kept: bool) -> dict[str, bytes]:
        over: dict[int, dict[str, Node | None]] = {}
        for step in steps:
            for folder, name, node in step.edits:
                over.setdefault(id(folder), {})[name] = node
        found: dict[str, bytes] = {}
        _walk(self.root, "", over, found, kept=kept)
        return found

    def _spot(self, path: str) -> tuple[Folder, str]:
        folder = self.at(str(Path(path).parent))
        assert isinstance(folder, Folder), path
        return folder, Path(path).name

    def _file(self, path: str) -> File:
        file = self.at(path)
        assert isinstance(file, File), path
        return file


def _walk(
    folder: Folder, path: str, over: dict[int, dict[str, Node | None]], found: dict[str, bytes], *, kept: bool
) -> None:
    for name, node in {**folder.kept, **over.get(id(folder), {})}.items():
        if isinstance(node, Folder):
            _walk(node, f"{path}{name}/", over, found, kept=kept)
        elif node is not None:
            found[f"{path}{name}"] = node.kept if kept else bytes(node.now)


def _set(names: dict[str, Node], name: str, node: Node | None) -> None:
    names.pop(name, None)
    if node is not None:
        names[name] = node


def _read(folder: Path) -> Folder:
    made = Folder()
    for path in folder.iterdir():
        if path.is_dir():
            made.now[path.name] = _read(path)
        else:
            data = path.read_bytes()
            made.now[path.name] = File(bytearray(data), data)
    made.kept = dict(made.now)
    return made
