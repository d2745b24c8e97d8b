"""Published problems of scheduling as problems of our plan, and our plans as the judges read them.

Sources stand in checks/README.md of the shared material: two-lane backlogs made for this project (with a
judge of their own), unrelated machines with setups (Vallada and Ruiz 2011), weighted tardiness on one
machine (OR-Library; Crauwels, Potts and Van Wassenhove 1998), roll and mode changes made for this project.
"""

import csv
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ticketbridge.decide.plan.blocks import Block
from ticketbridge.decide.plan.problem import (
    Carriage,
    Image,
    PlanJob,
    PlanPress,
    Problem,
    RollKind,
    Stand,
)

ONE_SECOND_A_MM = Carriage(beam_mm=0, ramp_mm=0, speed_mm_s=1, dwell_s=1, head_swath_mm=0)
"""Published problems give times; on this carriage a job of so many mm takes so many seconds."""


def backlog(file: Path) -> Problem:
    """A two-lane backlog."""
    day = json.loads(file.read_text())
    press, jobs = day["press"], day["jobs"]
    lanes = {lane["id"]: (lane["left_mm"], lane["width_mm"]) for lane in press["lanes"]}
    lanes["AB"] = (0, press["beam_mm"])
    names = list(lanes)
    start = press["start"]
    setups = sorted({_setup(job) for job in jobs} | {_setup(start)})
    rolls = sorted({job["substrate"] for job in jobs} | set(start["substrate"].values()))
    thickness = {job["substrate"]: job["thickness_um"] for job in jobs}
    stands = [Stand(0, lane, roll) for roll in range(len(rolls)) for lane in range(len(names))]
    overlapping = ((2,), (2,), (0, 1))
    return Problem(
        presses=(
            PlanPress(
                name="press",
                carriage=Carriage(
                    beam_mm=press["beam_mm"] if press["carriage"] == "full" else None,
                    ramp_mm=press["ramp_mm"],
                    speed_mm_s=press["speed_mm_s"],
                    dwell_s=press["dwell_s"],
                    head_swath_mm=press["head_swath_mm"],
                ),
                sweeps_per_mm=tuple(_sweeps_per_mm(day, mode, layers) for mode, layers, _ in setups),
                change_s=tuple(tuple(_change_s(press, one, other) for other in setups) for one in setups),
                roll_change_s=press["roll_change_s"],
                job_gap_mm=press["job_gap_mm"],
                setup=setups.index(_setup(start)),
                loaded={names.index(lane): rolls.index(roll) for lane, roll in start["substrate"].items()},
            ),
        ),
        lanes=tuple(names),
        setups=tuple(str(setup) for setup in setups),
        rolls=tuple(RollKind(name, thickness.get(name, 0)) for name in rolls),
        stands=tuple(stands),
        beside=tuple(
            frozenset(
                index
                for index, other in enumerate(stands)
                if other.lane != one.lane
                and other.lane not in overlapping[one.lane]
                and abs(thickness.get(rolls[one.roll], 0) - thickness.get(rolls[other.roll], 0))
                <= press["thickness_tolerance_um"]
            )
            for one in stands
        ),
        overlapping=overlapping,
        jobs=tuple(
            PlanJob(
                name=job["id"],
                setup=setups.index(_setup(job)),
                images={
                    stands.index(Stand(0, lane, rolls.index(job["substrate"]))): Image(
                        left, left + job["width_mm"], job["length_mm"]
                    )
                    for lane, (left, width) in enumerate(lanes.values())
                    if job["width_mm"] <= width
                },
                due_s=job["due_s"],
                weight=job["weight"],
            )
            for job in jobs
        ),
    )


def _setup(of: Mapping[str, Any]) -> tuple[str, str, bool]:
    return of["mode"], of["layers"], of["underlay"]


def _sweeps_per_mm(day: Mapping[str, Any], mode: str, layers: str) -> float:
    sweeps = 1 if day["modes"][mode]["both_ways"] else 2
    return sweeps * day["modes"][mode]["passes"] * day["layers"][layers] / day["press"]["head_swath_mm"]


def _change_s(press: Mapping[str, Any], one: tuple[str, str, bool], other: tuple[str, str, bool]) -> float:
    mode = press["mode_change_s"] if one[:2] != other[:2] else 0
    return mode + (press["underlay_change_s"] if one[2] != other[2] else 0)


def as_judged(problem: Problem, plan: Sequence[Block]) -> dict[str, Any]:
    """A plan in the form that the judge of the backlogs reads."""
    return {
        "blocks": [
            {
                "lanes": {
                    problem.lanes[problem.stands[stand].lane]: {
                        "substrate": problem.rolls[problem.stands[stand].roll].name,
                        "jobs": [problem.jobs[job].name for job in row],
                    }
                    for stand, row in block.rows
                }
            }
            for block in plan
        ]
    }


def tardiness_problems(folder: Path) -> dict[int, tuple[Problem, int]]:
    """The 125 problems of weighted tardiness with 40 jobs, and the best value known of each, by number."""
    jobs: dict[int, list[PlanJob]] = {}
    with (folder / "wt40-jobs.csv").open() as rows:
        for row in csv.DictReader(rows):
            image = Image(0, 0, float(row["processing_time"]))
            job = PlanJob(row["job"], 0, {0: image}, float(row["due_date"]), float(row["weight"]))
            jobs.setdefault(int(row["instance"]), []).append(job)
    with (folder / "wt40-values.csv").open() as rows:
        values = {int(row["instance"]): int(row["weighted_tardiness"]) for row in csv.DictReader(rows)}
    return {
        number: (_one_lane_presses([((0.0,),)], 0, found, rolls=1), values[number])
        for number, found in jobs.items()
    }


def machines_problem(instance: Mapping[str, Any]) -> Problem:
    """Unrelated machines with setups: each machine a press of one lane, each job a setup of its own."""
    times = instance["p"]
    jobs = [
        PlanJob(str(job), job, {press: Image(0, 0, time) for press, time in enumerate(times[job])})
        for job in range(instance["jobs"])
    ]
    return _one_lane_presses(instance["s"], 0, jobs, rolls=1)


def family_problem(instance: Mapping[str, Any]) -> Problem:
    """Roll and mode changes on one or two lanes that print alone: each a press of one lane."""
    count, rolls = instance["lanes"], instance["rolls"]
    jobs = [
        PlanJob(str(number), mode, {press * rolls + roll: Image(0, 0, minutes) for press in range(count)})
        for number, (roll, mode, minutes) in enumerate(instance["jobs"])
    ]
    change = instance["mode_change"]
    return _one_lane_presses([change] * count, instance["roll_change"], jobs, rolls, instance["start"])


def _one_lane_presses(
    changes: Sequence[Sequence[Sequence[float]]],
    roll_change: float,
    jobs: Sequence[PlanJob],
    rolls: int,
    start: Sequence[Mapping[str, int]] = (),
) -> Problem:
    setups = len(changes[0])
    presses = []
    for index, change in enumerate(changes):
        press = PlanPress(
            name=str(index),
            carriage=ONE_SECOND_A_MM,
            sweeps_per_mm=(1.0,) * setups,
            change_s=tuple(tuple(float(one) for one in row) for row in change),
            roll_change_s=roll_change,
            job_gap_mm=0,
            setup=start[index]["start_mode"] if start else -1,
            loaded={index: start[index]["start_roll"] if start else 0},
        )
        presses.append(press)
    stands = tuple(Stand(press, press, roll) for press in range(len(changes)) for roll in range(rolls))
    return Problem(
        presses=tuple(presses),
        lanes=tuple(press.name for press in presses),
        setups=tuple(str(setup) for setup in range(setups)),
        rolls=tuple(RollKind(str(roll), 0) for roll in range(rolls)),
        stands=stands,
        beside=(frozenset(),) * len(stands),
        overlapping=((),) * len(changes),
        jobs=tuple(jobs),
    )
