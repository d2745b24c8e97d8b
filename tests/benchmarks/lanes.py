"""Plans for the two-lane backlogs, beside the simple rules and a proven bound.

    python -m tests.benchmarks.lanes DIR OUT [--steps 600000] [--seed 1] [--days 01,02]

DIR holds the backlogs, their judge and a README with what simple rules reach; OUT gets one plan file for each
backlog, in the form that the judge reads. What is printed was judged by the judge, not by us.

The aim here is press time first: the backlogs hold more work than can be done in time, and were made to compare
finishes. A weighted second of lateness counts as much as 0.003 s of press time. In a shop it is the other way round.
"""

import argparse
import json
import os
import re
import runpy
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.outside.published_plans import as_judged, backlog
from ticketbridge.decide.plan.bound import least_press_s
from ticketbridge.decide.plan.problem import PlanJob, Problem
from ticketbridge.decide.plan.search import Aim, Budget, improve
from ticketbridge.decide.plan.start import in_order, sorted_by
from ticketbridge.decide.plan.timetable import Plan
from ticketbridge.report.plain_table import table

AIM = Aim(lateness=0.003)
Judge = Callable[[Any, Any], dict[str, Any]]


def main() -> None:
    words = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.lanes", description=__doc__.splitlines()[0]
    )
    words.add_argument("dir", type=Path, help="the folder with the backlogs")
    words.add_argument("out", type=Path, help="where the plans go")
    words.add_argument("--steps", type=int, default=600_000, help="budget of the search, for each backlog")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--days", default="", help="only these, such as 01,02")
    asked = words.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    load = "/".join(f"{one:.1f}" for one in os.getloadavg())
    print(
        f"{os.cpu_count()} processors, load {load} before the start; {asked.steps} steps, seed {asked.seed}."
    )
    judge = judge_in(asked.dir)
    bars = simple_rules(asked.dir)
    days = [day for day in bars if not asked.days or day in asked.days.split(",")]
    rows = [_row(asked.dir, asked.out, day, bars[day], judge, asked.steps, asked.seed) for day in days]
    print(
        table(("backlog", "sorted h", "plan h", "of sorted", "bound h", "gap", "late of sorted", "s"), rows)
    )
    share = sum(float(row[3]) for row in rows) / len(rows)
    print(f"\nOn average {100 * (1 - share):.1f} % below sorted; largest gap {max(row[5] for row in rows)}.")


def _row(
    folder: Path, out: Path, day: str, bar: dict[str, float], judge: Judge, steps: int, seed: int
) -> tuple[str, ...]:
    file = folder / f"day-{day}.json"
    problem = backlog(file)
    began = time.process_time()
    plan = planned(problem, steps, seed)
    took_s = time.process_time() - began
    told = as_judged(problem, plan)
    (out / file.name).write_text(json.dumps(told))
    found = judge(json.loads(file.read_text()), told)
    finish_h, late_h = found["finish_s"] / 3600, found["weighted_lateness_s"] / 3600
    bound_h = least_press_s(problem) / 3600
    return (
        day,
        f"{bar['sorted']:.1f}",
        f"{finish_h:.1f}",
        f"{finish_h / bar['sorted']:.3f}",
        f"{bound_h:.1f}",
        f"{100 * (finish_h / bound_h - 1):.1f} %",
        f"{late_h / bar['late']:.2f}",
        f"{took_s:.0f}",
    )


def planned(problem: Problem, steps: int, seed: int = 1) -> Plan:
    """From the sorted order to a plan with a budget of steps."""
    return improve(problem, in_order(problem, sorted_by(problem, as_sorted)), AIM, Budget(steps, seed))


def as_sorted(job: PlanJob) -> tuple[float, ...]:
    """The key of the simple rule: setup, substrate, falling length."""
    return job.setup, min(job.images), -max(image.length_mm for image in job.images.values())


def judge_in(folder: Path) -> Judge:
    """The judge of the backlogs, which defines their model: what a plan costs, or the rule that it breaks."""
    found: Judge = runpy.run_path(str(folder / "judge.py"))["judge"]
    return found


def simple_rules(folder: Path) -> dict[str, dict[str, float]]:
    """By backlog, what the README beside them says of the sorted order: hours, and weighted hours late."""
    text = (folder / "README.md").read_text()
    rows = {
        name: re.search(rf"^\| {name}[^|]*\|(.*)\|$", text, re.MULTILINE)
        for name in ("backlog", "sorted", "weighted")
    }
    cells = {name: [cell.strip() for cell in found[1].split("|")] for name, found in rows.items() if found}
    return {
        day: {"sorted": float(hours), "late": float(late)}
        for day, hours, late in zip(cells["backlog"], cells["sorted"], cells["weighted"], strict=True)
    }


if __name__ == "__main__":
    main()
