"""Plain tables for a terminal: as wide as they need to be, nothing drawn."""

from collections.abc import Sequence


def table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Columns aligned left, two blanks between; numbers are whoever calls's business."""
    widths = [max(len(row[column]) for row in [headings, *rows]) for column in range(len(headings))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in [headings, *rows]
    ]
    return "\n".join(lines)
