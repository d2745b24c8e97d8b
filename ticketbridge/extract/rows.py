"""What every table gives, whatever file it came from: rows of cells, each of which knows where it stands."""

from dataclasses import dataclass
from datetime import datetime

from ticketbridge.model.finding import Finding

Typed = int | float | bool | datetime
"""What a cell or a JSON value is where the file itself says more than its text."""


class FileRefused(Exception):
    """Nothing of the file can be relied on; the finding says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding)
        self.finding = finding


@dataclass(frozen=True, slots=True)
class Row:
    """One row.

    Attributes:
        line: The line in the file, from 1, that it begins in.
        cells: Their text.
        typed: What cells are where the file says more than their text, by position.
        names: What the cells are called, such as ``Orders!D7``; empty where only the heading names them.
    """

    line: int
    cells: tuple[str, ...]
    typed: tuple[Typed | None, ...] = ()
    names: tuple[str, ...] = ()

    @property
    def blank(self) -> bool:
        """Whether nothing stands in it; spreadsheet programs leave such rows at the end."""
        return not any(cell.strip() for cell in self.cells)
