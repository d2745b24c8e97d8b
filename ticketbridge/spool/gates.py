"""Shares that may hang: a file server that stops answering holds whoever calls it, for minutes, and no signal helps.

So every call on a guarded folder goes through the gate of its share, and a gate knows what is still out. A thread
that serves one share alone is *patient*: it makes its calls itself and may be held. All others have them made by
a thread of the gate, and are told ``ShareHangs`` when the share does not answer in time. Until the last overdue call
has come back the share counts as gone: whoever asks is refused at once. So there is never a second call beside one
whose outcome nobody knows, and when the gate opens again everything that was asked has happened, or never will.

What lies on the same device as the store hangs with it anyway, so ``follow_links`` spares it: no gate, no cost.
"""

import functools
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from ticketbridge.spool.gate import ANSWER_S, LOOK_S, Gate, ShareHangs, here

T = TypeVar("T")
P = ParamSpec("P")

_guarded: dict[str, Gate] = {}
_spared: set[str] = set()
_resolved: dict[Path, Path] = {}
_elsewhere = Gate("elsewhere", Path("/"))
"""For paths that a ticket names and that nobody has configured."""


def guard(share: str, folders: Sequence[Path], answer_s: float = ANSWER_S) -> Gate:
    """From now on whatever lies below these folders is asked through one gate."""
    gate = Gate(share, folders[0], answer_s)
    for folder in folders:
        _guarded.setdefault(str(folder), gate)
    return gate


def follow_links(is_own: Callable[[Path], bool] = lambda _: False) -> None:
    """Guard the folders also under the names that links lead to, as a ticket may name them so.

    All shares are asked at once, so that a start waits for those that hang only once.

    Args:
        is_own: Whether a folder cannot hang by itself. Then nothing guards it any more; one that does not answer
            now, or is not there, stays guarded.
    """
    own: list[str] = []
    looks = [
        (
            threading.Thread(
                target=_look, args=(folder, gate, is_own, own), name=f"look {folder}", daemon=True
            ),
            gate,
        )
        for folder, gate in _guarded.items()
    ]
    for look, _ in looks:
        look.start()
    for look, gate in looks:
        while look.is_alive() and not gate.overdue_s():
            look.join(LOOK_S)
    _spared.update(own)
    for name in _spared:
        _guarded.pop(name, None)


def _look(folder: str, gate: Gate, is_own: Callable[[Path], bool], own: list[str]) -> None:
    be_patient()
    with suppress(OSError):
        real = resolved(Path(folder))
        _guarded.setdefault(str(real), gate)
        if ask(real, functools.partial(is_own, real)):
            own += (folder, str(real))


def forget_all() -> None:
    """Guard nothing any more."""
    _guarded.clear()
    _spared.clear()
    _resolved.clear()


def be_patient() -> None:
    """This thread serves one share alone: it makes its calls itself, and nobody minds if it is held."""
    here.patient = True


def ask(path: Path, work: Callable[[], T]) -> T:
    """Do what touches a path: at once where no gate guards it.

    Raises:
        ShareHangs: Its share does not answer.
    """
    return _through(_gate_of(path), work)


def ask_of_any(path: Path, work: Callable[[], T]) -> T:
    """The same for a path that a ticket names, wherever that is: a gate is spared only below a spared folder.

    Raises:
        ShareHangs: Its share does not answer.
    """
    gate = _gate_of(path)
    if gate is None and (_guarded or _spared) and _nearest(path) not in _spared:
        gate = _elsewhere
    return _through(gate, work)


def _through(gate: Gate | None, work: Callable[[], T]) -> T:
    if gate is None or any(gate is mine for mine, _ in here.calls):
        return work()
    gate.refuse_if_overdue()
    if here.patient or here.calls:
        with gate.call(patient=here.patient):
            return work()
    return gate.hand_on([work])[0]


def ask_each(path: Path, works: Sequence[Callable[[], T]]) -> list[T]:
    """The same for a number of calls, several at a time.

    Raises:
        ShareHangs: The share does not answer; nothing is known of any of them.
    """
    gate = _gate_of(path)
    if gate is None or here.patient or here.calls:
        return [ask(path, work) for work in works]
    gate.refuse_if_overdue()
    return gate.hand_on(works)


def asked(function: Callable[P, T]) -> Callable[P, T]:
    """A function whose first argument is the path that it touches."""

    @functools.wraps(function)
    def through(*args: P.args, **kwargs: P.kwargs) -> T:
        if not _guarded:
            return function(*args, **kwargs)
        path: Any = args[0]
        return ask(path, lambda: function(*args, **kwargs))

    return through


def still_going() -> None:
    """A long call of this thread has just come a step further, so it is not overdue."""
    for _, out in here.calls:
        out.since_s = time.monotonic()


def resolved(folder: Path) -> Path:
    """A configured folder without links. Asked of its share once: where a share is mounted does not change.

    Raises:
        ShareHangs: Its share does not answer.
    """
    if _gate_of(folder) is None:
        return folder.resolve()
    if folder not in _resolved:
        _resolved[folder] = ask(folder, folder.resolve)
    return _resolved[folder]


def hanging() -> dict[str, ShareHangs]:
    """The shares that do not answer now, by what they serve."""
    return {
        share: ShareHangs(share, gate.folder, overdue_s)
        for share, gate in _gates().items()
        if (overdue_s := gate.overdue_s())
    }


def share_of(path: Path) -> str:
    """What the share of a path serves; empty where no gate guards it."""
    gate = _gate_of(path)
    return "" if gate is None else gate.share


def held_threads() -> set[str]:
    """Names of patient threads that a share holds, or has in hand just now."""
    return {name for gate in _gates().values() for name in gate.held()}


def _gates() -> dict[str, Gate]:
    return {gate.share: gate for gate in (*tuple(_guarded.values()), _elsewhere)}


def _gate_of(path: Path) -> Gate | None:
    return _guarded.get(_nearest(path)) if _guarded else None


def _nearest(path: Path) -> str:
    """The nearest known folder above, empty where there is none; by its name alone, as a look would touch it.

    The table is copied in one step, because a link of a share that hung at the start may be added at any time.
    """
    name = str(path)
    above = [
        folder
        for folder in (*tuple(_guarded), *_spared)
        if name.startswith(folder) and name[len(folder) :][:1] in ("", "/")
    ]
    return max(above, key=len, default="")
