"""The roll on a lane of the press: how much of it is left after the jobs before.

Kept as a file of lines, so that a kill forgets nothing. A press whose ``press.yaml`` names no roll length
takes each ticket's word for what is on the roll (``Media@Dimension``), holds a new roll for endless, and keeps
no account.
"""

import math
from pathlib import Path

from ticketbridge.press_sim import jsonl


class LaneRoll:
    """The account of one lane's roll."""

    def __init__(self, path: Path, full_mm: float | None) -> None:
        """Read the account.

        Args:
            path: Where it is kept.
            full_mm: Length of a new roll; None keeps no account.

        Raises:
            Damaged: A line of it is not what the press writes.
        """
        self._path = path
        self._full_mm = full_mm
        self._used_mm: dict[str, float] = {}
        self._loads: set[str] = set()
        jsonl.cut_torn_line(path)
        for row in jsonl.rows(path):
            self._apply(row)

    @property
    def full_mm(self) -> float:
        """Length of a new roll; endless where ``press.yaml`` says nothing."""
        return math.inf if self._full_mm is None else self._full_mm

    def left_mm(self, ticket_mm: float) -> float:
        """Length left after the jobs before; the ticket's word where ``press.yaml`` says nothing."""
        return ticket_mm if self._full_mm is None else self._full_mm - sum(self._used_mm.values())

    def load(self, occasion: str) -> None:
        """A new roll is on; the same occasion again, after a kill, is the same roll."""
        if occasion not in self._loads:
            self._add({"loaded": occasion})

    def use(self, serial: str, length_mm: float) -> None:
        """A job has used so much of the roll that is on; said again after a kill it counts once."""
        if serial not in self._used_mm:
            self._add({"used": serial, "length_mm": length_mm})

    def _add(self, row: jsonl.Row) -> None:
        if self._full_mm is not None:
            jsonl.append(self._path, [row])
        self._apply(row)

    def _apply(self, row: jsonl.Row) -> None:
        if "loaded" in row:
            self._loads.add(row["loaded"])
            self._used_mm.clear()
        elif "used" in row:
            self._used_mm[row["used"]] = row["length_mm"]
