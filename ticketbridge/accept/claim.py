"""Taking a file: one rename into our own folder, under a fresh name. Whoever renamed it owns it."""

import itertools
import os
import secrets
import stat
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask, asked
from ticketbridge.spool.places import SourcePlaces, claim_of, claimed_name

MOST_ATTEMPTS = 3
"""A ticket found claimed and unfinished at so many starts has ended the process as often: it is set aside."""


THIS_RUN: Final = secrets.token_hex(4)
"""In every claim of this process, and at the end of its name among several bridges: by it a bridge tells what is in
hand, here or at another that lives, from what was left behind."""
_COUNT: Final = itertools.count(1)


@dataclass(frozen=True, slots=True)
class Claimed:
    """A file that is ours now.

    Attributes:
        source_id: The source it was dropped at.
        claim_id: Our own name for it, sortable by time.
        original_name: The name it was dropped under.
        path: Where it lies.
        whole: Whether its end was seen before it was claimed.
        waited: Whether it lay in ``waiting`` before, so that a newer file may have overtaken it.
    """

    source_id: str
    claim_id: str
    original_name: str
    path: Path
    whole: bool = True
    waited: bool = False


class Claimer:
    """Does the renames of one source. Names are fresh in the whole process."""

    def __init__(self, source_id: str, places: SourcePlaces, run: str = "") -> None:
        """Begin.

        Args:
            source_id: The source.
            places: Its folders.
            run: What names begin with that say how a file came, such as by message.
        """
        self._source_id = source_id
        self._places = places
        self._run = run + THIS_RUN

    def claim(self, name: str, now: datetime, *, whole: bool) -> Claimed | None:
        """Take a file out of the drop folder; None where it is gone or is no regular file.

        Links, pipes and devices are never opened: renaming touches only the name, and what is no regular
        file stays where it is.
        """
        source = self._places.drop / name
        if not is_regular(source):
            return None
        try:
            return self.take(source, name, now, whole=whole)
        except FileNotFoundError:
            return None

    def take(self, source: Path, name: str, now: datetime, *, whole: bool = True) -> Claimed:
        """The rename itself, from wherever the file lies.

        Raises:
            FileNotFoundError: It lies there no more.
        """
        claimed = self.name(name, now, whole=whole)
        durable.move(source, claimed.path)
        return claimed

    def name(self, name: str, now: datetime, *, whole: bool = True) -> Claimed:
        """A fresh name among the claimed files; nothing lies there yet."""
        claim_id = f"{now:%Y%m%dT%H%M%S}-{self._run}-{next(_COUNT):06d}-1"
        target = self._places.claimed / claimed_name(claim_id, name)
        return Claimed(self._source_id, claim_id, name, target, whole)

    def found_claimed(self) -> list[Claimed]:
        """What an earlier run claimed and did not finish, oldest first."""
        return self.found_in(self._places.claimed)

    def found_in(self, folder: Path) -> list[Claimed]:
        """Claimed files in one of our folders, oldest first.

        Raises:
            OSError: The folder cannot be read.
        """
        found = []
        for name in sorted(ask(folder, lambda: os.listdir(folder))):
            if name.startswith("."):
                continue
            claim_id, original_name = claim_of(name)
            found.append(Claimed(self._source_id, claim_id, original_name, folder / name))
        return found

    def count_attempt(self, claimed: Claimed) -> Claimed:
        """The same claim under a name that says it was tried once more. Names count, so no crash can lose it."""
        base, attempts = split_attempts(claimed.claim_id)
        claim_id = f"{base}-{attempts + 1}"
        target = self._places.claimed / claimed_name(claim_id, claimed.original_name)
        durable.move(claimed.path, target)
        return Claimed(claimed.source_id, claim_id, claimed.original_name, target)


def split_attempts(claim_id: str) -> tuple[str, int]:
    """The claim id without its count, and the count."""
    base, _, attempts = claim_id.rpartition("-")
    return (base, int(attempts)) if base and attempts.isdigit() else (claim_id, 1)


def run_of(claim_id: str) -> str:
    """Which run of a bridge made this claim; empty where the name is none of ours."""
    parts = claim_id.split("-")
    return parts[1] if len(parts) > 1 else ""


@asked
def is_regular(path: Path) -> bool:
    """Whether it is a plain file, not a link to one."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return False
