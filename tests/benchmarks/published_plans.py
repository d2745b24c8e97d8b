"""The planner on all published problems: how far from the best known.

    python -m tests.benchmarks.published_plans DIR [--steps 150000]

DIR is the folder with wt40-jobs.csv, wt40-values.csv, vr-small.json and family-setups.json. Takes under fifteen
minutes of one processor as it stands; steps are the search's budget for each of the 125 problems of weighted tardiness.
"""

import argparse
import json
import time
from collections.abc import Iterable
from pathlib import Path

from tests.outside.published_plans import family_problem, machines_problem, tardiness_problems
from ticketbridge.decide.plan.exact import earliest_finish
from ticketbridge.decide.plan.problem import Problem
from ticketbridge.decide.plan.search import Aim, Budget, improve
from ticketbridge.decide.plan.start import in_order, sorted_by
from ticketbridge.decide.plan.timetable import cost_of
from ticketbridge.report.plain_table import table


def main() -> None:
    words = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.published_plans", description=__doc__.splitlines()[0]
    )
    words.add_argument("dir", type=Path)
    words.add_argument("--steps", type=int, default=150_000)
    asked = words.parse_args()
    machines = json.loads((asked.dir / "vr-small.json").read_text())["instances"]
    families = json.loads((asked.dir / "family-setups.json").read_text())["instances"]
    rows = [
        _exact("machines with setups", ((machines_problem(one), one["optimum"]) for one in machines)),
        _exact("roll and mode changes", ((family_problem(one), one["optimum"]) for one in families)),
        _searched("weighted tardiness", tardiness_problems(asked.dir).values(), asked.steps),
    ]
    print(table(("set", "problems", "best reached", "sum above best", "s each"), rows))


def _exact(name: str, problems: Iterable[tuple[Problem, float]]) -> tuple[str, ...]:
    began = time.process_time()
    found = [(cost_of(problem, earliest_finish(problem)).finish_s, best) for problem, best in problems]
    return _told(name, found, time.process_time() - began)


def _searched(name: str, problems: Iterable[tuple[Problem, float]], steps: int) -> tuple[str, ...]:
    began = time.process_time()
    found = []
    for problem, best in problems:
        start = in_order(problem, sorted_by(problem, lambda job: (job.due_s,)))
        found.append((cost_of(problem, improve(problem, start, Aim(), Budget(steps))).late_s, best))
    return _told(name, found, time.process_time() - began)


def _told(name: str, found: list[tuple[float, float]], took_s: float) -> tuple[str, ...]:
    reached = sum(value <= best for value, best in found)
    above = sum(value for value, _ in found) / sum(best for _, best in found) - 1
    return name, str(len(found)), str(reached), f"{100 * above:.3f} %", f"{took_s / len(found):.2f}"


if __name__ == "__main__":
    main()
