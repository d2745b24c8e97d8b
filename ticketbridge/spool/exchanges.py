"""The last exchanges with each partner, kept for people in the state folder: both bodies, and no more than a few.

A note for people whose loss hurts nobody: not synced, and a full disk only means that it is missing.
"""

import json
import os
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from ticketbridge.model.exchange import Exchange
from ticketbridge.spool import durable

KEPT: Final = 50
"""Exchanges of each partner."""
BODY_CHARACTERS: Final = 64_000
"""Of each body; what is longer is cut."""


@dataclass(frozen=True, slots=True)
class Kept:
    """An exchange and when it ended."""

    at: str
    exchange: Exchange


class Exchanges:
    """One folder for each partner, one file for each exchange. May be used by many threads."""

    def __init__(self, folder: Path, now: Callable[[], datetime]) -> None:
        self._folder = folder
        self._now = now
        self._lock = threading.Lock()
        self._next: dict[str, int] = {}

    def note(self, exchange: Exchange) -> None:
        """Keep one, and let the oldest of its partner go."""
        with self._lock, suppress(OSError):
            self._note(exchange)

    def _note(self, exchange: Exchange) -> None:
        folder = self._folder / exchange.partner
        number = self._next.get(exchange.partner)
        if number is None:
            folder.mkdir(parents=True, exist_ok=True)
            number = max(_numbers(folder), default=0) + 1
        self._next[exchange.partner] = number + 1
        row = asdict(exchange) | {
            "at": self._now().isoformat(timespec="milliseconds"),
            "body": exchange.body[:BODY_CHARACTERS],
            "answer": exchange.answer[:BODY_CHARACTERS],
        }
        durable.write_unsynced(_path(folder, number), json.dumps(row).encode())
        durable.remove_note(_path(folder, number - KEPT))


def read_exchanges(folder: Path, partner: str | None = None) -> list[Kept]:
    """What is kept of one partner, or of all; oldest first. A file that is just being written is left out."""
    if not folder.is_dir():
        return []
    partners = sorted(os.listdir(folder)) if partner is None else [partner]
    paths = [path for name in partners for path in sorted((folder / name).glob("*.json"))]
    return sorted((kept for path in paths if (kept := _read(path))), key=lambda kept: kept.at)


def _read(path: Path) -> Kept | None:
    try:
        row = json.loads(path.read_bytes())
        return Kept(row.pop("at"), Exchange(**row))
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _numbers(folder: Path) -> list[int]:
    return [int(path.stem) for path in folder.glob("*.json") if path.stem.isdecimal()]


def _path(folder: Path, number: int) -> Path:
    return folder / f"{number:08d}.json"
