"""Deciding that a file is whole. Knows nothing of watching: it is told what was seen and asked what is settled.

Two ways to be settled:

* An event vouches for the file (moved in, or closed after writing) and its end is seen: its root element is closed.
* No event does, or the file is of a kind that shows no end (CSV): size and time have stood still for the quiet
  time over two looks or more, and the end is seen where there is one.

A file whose end stays missing for the folder's patience is handed on all the same, to be refused with its
reason. Times are of the monotonic clock; a file's own time is only ever compared with its own earlier value,
because shares and copiers set it as they like.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Look:
    """One look at a file: enough to see that it changed."""

    size: int
    mtime_ns: int
    inode: int


@dataclass(slots=True)
class _Watched:
    look: Look
    since_s: float  # since when it looks like this
    looks: int
    vouched: bool


@dataclass(frozen=True, slots=True)
class Settled:
    """A file that may be claimed; ``whole`` tells whether its end was seen."""

    name: str
    whole: bool


class SettleTracker:
    """The files of one drop folder that are not claimed yet.

    Args:
        quiet_s: How long a file must stand still that no event vouches for.
        patience_s: How long one without its end may stand still before it is handed on all the same.
        is_whole: Whether a file's end can be seen, or is of a kind that shows none.
        shows_end: Whether a file is of a kind whose end can be seen. For others an event vouches for
            nothing: a writer that closes and opens again for each part makes one for each part.
    """

    def __init__(
        self,
        quiet_s: float,
        patience_s: float,
        is_whole: Callable[[str], bool],
        shows_end: Callable[[str], bool] = lambda _: True,
    ) -> None:
        self._quiet_s = quiet_s
        self._patience_s = patience_s
        self._is_whole = is_whole
        self._shows_end = shows_end
        self._watched: dict[str, _Watched] = {}

    def event(self, name: str, look: Look, now_s: float) -> Settled | None:
        """An event says that the file was moved in, or closed by its writer."""
        vouched = self._shows_end(name)
        self._note(name, look, now_s, vouched=vouched)
        return self._settled_if_whole(name) if vouched else None

    def scan(self, seen: Iterable[tuple[str, Look]], now_s: float) -> list[Settled]:
        """A look at the whole folder. What is no longer there is forgotten."""
        present = dict(seen)
        for gone in self._watched.keys() - present.keys():
            del self._watched[gone]
        settled = []
        for name, look in present.items():
            self._note(name, look, now_s, vouched=False)
            watched = self._watched[name]
            still_s = now_s - watched.since_s
            if watched.vouched or (watched.looks >= 2 and still_s >= self._quiet_s):
                one = self._settled_if_whole(name)
                if one is None and still_s >= self._patience_s:
                    del self._watched[name]
                    one = Settled(name, whole=False)
                if one is not None:
                    settled.append(one)
        return settled

    def forget(self, name: str) -> None:
        """The file was claimed, or is gone."""
        self._watched.pop(name, None)

    @property
    def waiting(self) -> int:
        """How many files are not settled yet."""
        return len(self._watched)

    def _note(self, name: str, look: Look, now_s: float, *, vouched: bool) -> None:
        known = self._watched.get(name)
        if known is None or known.look != look:
            self._watched[name] = _Watched(look, now_s, 1, vouched)
        else:
            known.looks += 1
            known.vouched = known.vouched or vouched

    def _settled_if_whole(self, name: str) -> Settled | None:
        if not self._is_whole(name):
            return None
        self.forget(name)
        return Settled(name, whole=True)
