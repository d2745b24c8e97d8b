"""The hot folders: made once by ``init``, proved at every start, never made again.

A share that is not mounted leaves an empty folder that looks right; so every folder holds a marker, and a
folder without it is left alone. What the bridge will do with tickets is tried beforehand with a file of
its own: make, rename, remove.
"""

import os
import pwd
import stat
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final, Protocol, TypeVar
from uuid import uuid4

from ticketbridge.config.files import PRESSES_FILE, SETTINGS_FILE
from ticketbridge.config.load import LoadedShop
from ticketbridge.config.mounts import MOUNTINFO, Mount, mount_of, mounts_from
from ticketbridge.model.finding import Finding, Place
from ticketbridge.vocabulary.names import MARKER_NAME

T = TypeVar("T")

SOURCE_FOLDERS: Final[Mapping[str, str]] = {
    "drop": "put tickets here",
    "claimed": "tickets the bridge has taken and is working on",
    "waiting": "tickets whose artwork is not there yet, where the source waits for it",
    "accepted": "tickets that became jobs",
    "artwork": "artwork that was dropped alone or came in a message's package; the press opens it here",
    "repeated": "tickets that say the same as one that came before",
    "refused": "tickets that could not be used, each with the reasons beside it",
    "status": "messages for the MIS: what happens to its jobs",
    "returned": "finished tickets, with what was printed and used",
}
"""Below the folder of every source."""

ONE_DEVICE: Final = ("drop", "claimed", "waiting", "accepted", "artwork", "repeated", "refused")
"""A ticket goes from one of these to the other by a rename, which works only within one file system."""

LANE_FOLDERS: Final[Mapping[str, str]] = {
    "in": "tickets for this lane; the press takes them from here",
    "status": "messages from the press",
    "returned": "tickets that the press has finished",
    "followed": "what the press said and the bridge has taken in",
    "artwork": "copies of artwork for the press, where the bridge makes them",
}
"""Below the folder of every lane."""

PROBE_PREFIX: Final = f"{MARKER_NAME}-probe-"
"""Files that begin so come from ``check_folders``, and are gone a moment later."""


class Asking(Protocol):
    """Does what touches a path, or raises OSError where its share does not answer."""

    def __call__(self, path: Path, work: Callable[[], T]) -> T:
        """Does it."""


def _at_once(path: Path, work: Callable[[], T]) -> T:  # noqa: ARG001  there is no hurry, and nobody else waits
    return work()


@dataclass(frozen=True, slots=True)
class _Group:
    """A source's or a lane's folders, and where the configuration names them."""

    name: str
    folder: Path
    below: Mapping[str, str]
    one_device: tuple[str, ...]
    place: Place


def make_folders(loaded: LoadedShop) -> list[Path]:
    """Makes all folders with their markers. Only ``init`` does this: later a missing marker means something.

    Returns:
        Every folder, in the order of the configuration; the folders for artwork last, which have no marker.
    """
    folders = [(loaded.state_folder, "the bridge's store; no other program writes here")]
    for group in _groups(loaded):
        folders += [
            (group.folder / name, f"{group.name}, {purpose}") for name, purpose in group.below.items()
        ]
    for folder, purpose in folders:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / MARKER_NAME).write_text(_marker_text(purpose), encoding="utf-8")
    artwork = [
        loaded.resolved(root) for source in loaded.shop.settings.sources for root in source.artwork_roots
    ]
    for folder in artwork:
        folder.mkdir(parents=True, exist_ok=True)
    return [folder for folder, _ in folders] + artwork


def check_folders(
    loaded: LoadedShop, mounts: tuple[Mount, ...] | None = None, ask: Asking = _at_once
) -> list[Finding]:
    """Proves that every folder is there, is ours, and lets the bridge do its work.

    Args:
        loaded: The shop.
        mounts: The machine's mounts; read from the kernel when not given.
        ask: How whatever touches a folder is done: by the bridge with a deadline, as a share may hang.

    Returns:
        What is wrong, in the order of the configuration; empty where all is well.
    """
    known = mounts_of_this_machine() if mounts is None else mounts
    seen: dict[tuple[int, int], Path] = {}
    findings = list(_state_folder_faults(loaded, known, seen))
    for group in _groups(loaded):
        faults = [
            fault
            for name in group.below
            for fault in _folder_faults(group.folder / name, group.place, seen, ask)
        ]
        findings += faults or ask(group.folder, partial(_device_faults, group, known))
    findings += _source_faults(loaded, known, ask)
    return findings


def mounts_of_this_machine() -> tuple[Mount, ...]:
    """The kernel's list; empty where there is none to read."""
    try:
        return mounts_from(MOUNTINFO.read_text(encoding="utf-8", errors="surrogateescape"))
    except OSError:
        return ()


def refused_step(folder: Path) -> tuple[str, str] | None:
    """Tries in a folder what the bridge does with tickets.

    Returns:
        The step that the system refused (``create``, ``rename`` or ``remove``) and its reason; None when
        all went well.
    """
    probe = folder / f"{PROBE_PREFIX}{uuid4().hex}"
    renamed = probe.with_name(f"{probe.name}-renamed")
    step = "create"
    try:
        probe.open("x").close()
        step = "rename"
        probe.rename(renamed)
        step = "remove"
        renamed.unlink()
    except OSError as error:
        for leftover in (probe, renamed):
            _remove_if_possible(leftover)
        return step, error.strerror or str(error)
    return None


def others_files_stay(mode: int, owner: int, user: int) -> bool:
    """Whether a folder's sticky bit keeps this user from renaming files that others put there (inode(7))."""
    return bool(mode & stat.S_ISVTX) and user not in (0, owner)


def _groups(loaded: LoadedShop) -> Iterator[_Group]:
    for index, source in enumerate(loaded.shop.settings.sources):
        place = loaded.place(SETTINGS_FILE, ("sources", index, "folder"))
        folder = loaded.resolved(source.folder)
        yield _Group(f"source {source.id}", folder, SOURCE_FOLDERS, ONE_DEVICE, place)
    for press_index, press in enumerate(loaded.shop.presses.values()):
        for index, lane in enumerate(press.lanes):
            place = loaded.place(PRESSES_FILE, ("presses", press_index, "lanes", index, "folder"))
            folder = loaded.resolved(lane.folder)
            yield _Group(f"lane {lane.device_id}", folder, LANE_FOLDERS, tuple(LANE_FOLDERS), place)


def _folder_faults(
    folder: Path, place: Place, seen: dict[tuple[int, int], Path], ask: Asking = _at_once
) -> list[Finding]:
    try:
        return ask(folder, lambda: list(_faults_of_folder(folder, place, seen)))
    except OSError as error:
        facts = {"folder": str(folder), "why": error.strerror or str(error), "account": _account()}
        return [Finding("config.folder-unreachable", place, facts)]


def _faults_of_folder(folder: Path, place: Place, seen: dict[tuple[int, int], Path]) -> Iterator[Finding]:
    if not folder.is_dir():
        yield Finding("config.folder-missing", place, {"folder": str(folder)})
        return
    if not (folder / MARKER_NAME).is_file():
        yield Finding("config.marker-missing", place, {"folder": str(folder), "marker": MARKER_NAME})
        return
    status = folder.stat()
    twin = seen.setdefault((status.st_dev, status.st_ino), folder)
    if twin is not folder:
        yield Finding("config.folder-twice", place, {"folder": str(folder), "other": str(twin)})
    refused = refused_step(folder)
    if refused:
        facts = {"folder": str(folder), "step": refused[0], "why": refused[1], "account": _account()}
        yield Finding("config.folder-not-writable", place, facts)
    elif others_files_stay(status.st_mode, status.st_uid, os.geteuid()):
        yield Finding("config.folder-sticky", place, {"folder": str(folder), "account": _account()})


def _device_faults(group: _Group, mounts: tuple[Mount, ...]) -> list[Finding]:
    first = group.folder / group.one_device[0]
    return [
        Finding(
            "config.folders-on-two-devices",
            group.place,
            {
                "folder": str(first),
                "mount": _mount_named(first, mounts),
                "other": str(group.folder / name),
                "other_mount": _mount_named(group.folder / name, mounts),
            },
        )
        for name in group.one_device[1:]
        if (group.folder / name).stat().st_dev != first.stat().st_dev
    ]


def _state_folder_faults(
    loaded: LoadedShop, mounts: tuple[Mount, ...], seen: dict[tuple[int, int], Path]
) -> Iterator[Finding]:
    place = Place(str(loaded.state_folder))
    yield from _folder_faults(loaded.state_folder, place, seen)
    mount = mount_of(loaded.state_folder, mounts)
    if mount and mount.over_network and loaded.shop.settings.store is None:
        yield Finding(
            "config.store-on-network", place, {"folder": str(loaded.state_folder), "mount": str(mount)}
        )


def _source_faults(loaded: LoadedShop, mounts: tuple[Mount, ...], ask: Asking) -> Iterator[Finding]:
    for index, source in enumerate(loaded.shop.settings.sources):
        drop = loaded.resolved(source.folder) / "drop"
        mount = _mount_of(drop, mounts, ask)
        if source.watch.events and mount and mount.over_network:
            place = loaded.place(SETTINGS_FILE, ("sources", index, "watch"))
            yield Finding("config.events-on-network", place, {"folder": str(drop), "mount": str(mount)})
        for position, root in enumerate(source.artwork_roots):
            if not _is_folder(loaded.resolved(root), ask):
                place = loaded.place(SETTINGS_FILE, ("sources", index, "artwork_roots", position))
                yield Finding("config.artwork-root-missing", place, {"folder": str(loaded.resolved(root))})
        for position, row in enumerate(source.artwork_paths):
            if not _is_folder(loaded.resolved(row.here), ask):
                place = loaded.place(SETTINGS_FILE, ("sources", index, "artwork_paths", position, "here"))
                yield Finding(
                    "config.artwork-root-missing", place, {"folder": str(loaded.resolved(row.here))}
                )


def _is_folder(path: Path, ask: Asking) -> bool:
    try:
        return ask(path, path.is_dir)
    except OSError:
        return False


def _mount_of(folder: Path, mounts: tuple[Mount, ...], ask: Asking) -> Mount | None:
    try:
        return ask(folder, lambda: mount_of(folder, mounts))
    except OSError:
        return None


def _mount_named(folder: Path, mounts: tuple[Mount, ...]) -> str:
    return str(mount_of(folder, mounts) or f"device {folder.stat().st_dev}")


def _remove_if_possible(file: Path) -> None:
    try:
        file.unlink(missing_ok=True)
    except OSError:
        return


def _account() -> str:
    try:
        return pwd.getpwuid(os.geteuid()).pw_name
    except KeyError:
        return f"user id {os.geteuid()}"


def _marker_text(purpose: str) -> str:
    return (
        f"This folder belongs to ticketbridge: {purpose}.\n"
        "Leave this file where it is. Without it the bridge takes the folder for one whose share is not\n"
        "mounted, and neither reads nor writes here.\n"
    )
