"""What the packing reaches on published problems, beside what published methods reach.

    python -m tests.benchmarks.packing [--steps 200000] [--only C4,N5] [--shared FOLDER]

Prints the table that stands in packing.md. Lengths in per cent above the optimum, or above the best known bound where
nobody knows the optimum; seconds are processor time of this machine and mean nothing beside those of others. Every
packing is judged by the tests' own checker before it counts.
"""

import argparse
import os
import time
from collections.abc import Sequence
from pathlib import Path
from statistics import mean

from tests.packing_checker import faults
from tests.packing_sets import Instance, instances
from ticketbridge.decide.layout.packing import QUICK, THOROUGH, Effort, pack

ROOT = Path(__file__).resolve().parents[2]
EXACT = Effort(steps=QUICK.steps, branches=1_000_000)
PER_SET = ("C1", "C2", "C3", "C4", "C5", "C6", "C7")


def main() -> None:
    words = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.packing", description=__doc__.splitlines()[0]
    )
    words.add_argument("--steps", type=int, default=THOROUGH.steps, help="steps of the search")
    words.add_argument("--only", default="", help="names or sets, with commas between them")
    words.add_argument(
        "--shared", type=Path, default=Path(os.environ.get("TICKETBRIDGE_SHARED", ROOT.parent / "shared"))
    )
    asked = words.parse_args()
    wanted = tuple(asked.only.split(","))
    chosen = [one for one in instances(asked.shared).values() if one.name.startswith(wanted)]
    rows = [_row(one, asked.steps) for one in chosen]
    print(_table(HEAD, rows))
    print()
    print(_table(SET_HEAD, _sets(chosen, rows)))


HEAD = (
    "instance", "pieces", "known",
    "quick, no turning", "best-fit", "s",
    "quick, turning", "best-fit", "s",
    "search, turning", "two-sided", "s",
    "exact, no turning", "s",
)  # fmt: skip


def _row(one: Instance, steps: int) -> list[str]:
    row = [one.name, str(len(one.sizes_mm)), f"{one.known_mm:g}"]
    for may_turn in (False, True):
        length, seconds = _measured(one, QUICK, may_turn=may_turn)
        row += [f"{length:g}", _or_dash(one.best_fit_mm[may_turn]), f"{seconds:.2f}"]
    length, seconds = _measured(one, Effort(steps), may_turn=True)
    row += [f"{length:g}", _or_dash(one.two_sided_mm), f"{seconds:.2f}"]
    if not one.name.startswith("NG"):
        return [*row, "-", "-"]
    length, seconds = _measured(one, EXACT, may_turn=False)
    return [*row, f"{length:g}", f"{seconds:.2f}"]


def _measured(one: Instance, effort: Effort, *, may_turn: bool) -> tuple[float, float]:
    pieces = one.pieces(may_turn=may_turn)
    begin = time.process_time()
    packing = pack(pieces, one.strip, effort)
    seconds = time.process_time() - begin
    if wrong := faults(packing, pieces, one.strip):
        raise SystemExit(f"{one.name}: {wrong[0]}")
    return packing.length_mm, seconds


SET_HEAD = ("set", "quick, turning", "best-fit", "search, turning", "two-sided", "met")


def _sets(chosen: Sequence[Instance], rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Averages in per cent above the known length, over the instances for which both are measured."""
    answer = []
    for name in (*PER_SET, "N", "OWN-DEV", "OWN-GAPDEV", "BENG"):
        of_set = [
            (one, row)
            for one, row in zip(chosen, rows, strict=True)
            if one.name.rstrip("0123456789").rstrip("-") == name or one.name.startswith(f"{name}-")
        ]
        of_set = [(one, row) for one, row in of_set if name != "N" or one.name != "N13"]
        if not of_set:
            continue
        percents = [_average(of_set, column) for column in (6, 7, 9, 10)]
        met = "-" if "-" in (percents[2], percents[3]) else _met(float(percents[2]), float(percents[3]))
        answer.append([name, *percents, met])
    return answer


def _average(of_set: Sequence[tuple[Instance, Sequence[str]]], column: int) -> str:
    known = [
        one.above_known_percent(float(row[column])) if row[column] != "-" else None for one, row in of_set
    ]
    measured = [percent for percent in known if percent is not None]
    return f"{mean(measured):.2f}" if len(measured) == len(of_set) else "-"


def _met(ours: float, bar: float) -> str:
    return "yes" if ours <= bar else "no"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    return "\n".join(f"| {' | '.join(row)} |" for row in [head, ["---"] * len(head), *rows])


def _or_dash(length: float | None) -> str:
    return f"{length:g}" if length is not None else "-"


if __name__ == "__main__":
    main()
