"""The published sets of packing problems, and what published methods reach on them.

They lie outside the project, in checks/packing of the shared material; its README names the source of each.
"""

import csv
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.decide.layout.packing import Piece, Strip, whole_piece


@dataclass(frozen=True)
class Instance:
    """One problem.

    Attributes:
        name: Such as ``C4-2``.
        strip: Its width and the gap between pieces.
        sizes_mm: Width and height of each piece.
        known_mm: The optimum, or where nobody knows it a bound that no packing is below.
        best_fit_mm: What best-fit reaches, by whether pieces may turn; None where nobody measured it.
        two_sided_mm: What two-sided best-fit reaches in the best of 288 runs, with turning.
    """

    name: str
    strip: Strip
    sizes_mm: tuple[tuple[float, float], ...]
    known_mm: float
    best_fit_mm: dict[bool, float | None]
    two_sided_mm: float | None

    def pieces(self, *, may_turn: bool) -> list[Piece]:
        return [whole_piece(width, height, may_turn=may_turn) for width, height in self.sizes_mm]

    def above_known_percent(self, length_mm: float) -> float:
        return 100 * (length_mm / self.known_mm - 1)


def instances(shared: Path) -> dict[str, Instance]:
    """All of them, in the order of the index."""
    folder = shared / "checks" / "packing"
    bars = {row["id"]: row for row in _rows(folder / "bars.csv")}
    return {row["id"]: _instance(folder, row, bars.get(row["id"], {})) for row in _rows(folder / "index.csv")}


def _instance(folder: Path, row: dict[str, str], bars: dict[str, str]) -> Instance:
    sizes = tuple((float(item["width"]), float(item["height"])) for item in _rows(folder / row["file"]))
    turning = [
        _number(text)
        for text in (
            row["here_BESTFIT_rot"],
            bars.get("reported_bestfit_leftmost"),
            bars.get("reported_bestfit_tallest_neighbour"),
            bars.get("reported_bestfit_shortest_neighbour"),
            bars.get("reported_bestfit_best_of_3"),
        )
    ]
    return Instance(
        row["id"],
        Strip(float(row["strip_width"]), float(row["gap_between_items"])),
        sizes,
        float(row["optimum_height"] or row["lower_bound"]),
        {
            False: _number(row["here_BESTFIT_fixed"]),
            True: min((length for length in turning if length is not None), default=None),
        },
        _number(bars.get("reported_two_sided_bestfit_best_of_288")),
    )


def _number(text: str | None) -> float | None:
    return float(text) if text else None


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
