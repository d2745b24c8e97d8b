"""Files of one JSON object a line, only ever appended to: the print log and the record of each job.

A line counts when its newline is on disk. A line torn by a kill has none, and is cut off before the file is
used again.
"""

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from ticketbridge.press_sim.durable import sync_folder

Row = Mapping[str, Any]


class Damaged(Exception):
    """A whole line is not JSON: no kill does that, so a person must look."""


def cut_torn_line(path: Path) -> None:
    """Drop what stands after the last newline; does nothing where there is no file."""
    if not path.exists():
        return
    with path.open("rb+") as file:
        end = 0
        for line in file:
            end += len(line) if line.endswith(b"\n") else 0
        file.truncate(end)
        os.fsync(file.fileno())


def rows(path: Path) -> Iterator[dict[str, Any]]:
    """The objects of a file, in order; none where there is no file.

    Raises:
        Damaged: A line is not a JSON object.
    """
    if not path.exists():
        return
    with path.open("rb") as file:
        for number, line in enumerate(file, 1):
            try:
                row = json.loads(line)
            except ValueError:
                row = None
            if not isinstance(row, dict):
                raise Damaged(f"{path}:{number}: not a JSON object. Mend or remove that line.")
            yield row


def append(path: Path, new_rows: Iterable[Row]) -> None:
    """Add lines; they are durable when this returns."""
    fresh = not path.exists()
    lines = "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in new_rows)
    with path.open("ab") as file:
        file.write(lines.encode())
        file.flush()
        os.fsync(file.fileno())
    if fresh:
        sync_folder(path.parent)
