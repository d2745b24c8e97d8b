"""What a plan is made for, in plain numbers: presses, their lanes, the rolls there are, the jobs.

Everything is an index into a tuple here, because the search looks things up many thousand times; names
come back when a plan is shown. Times are seconds from the moment of planning, lengths and widths mm.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Final

NOTHING: Final = -1
"""No roll loaded, or no setup known yet; the change to the first one is free where it is not known."""


@dataclass(frozen=True, slots=True)
class Carriage:
    """How long the carriage takes for one sweep.

    Seconds per sweep = (span + 4 x ramp) / speed + dwell; the span is the beam, or reaches from the
    leftmost to the rightmost printed edge. See ``decide/estimate/time.py`` for the reason of the 4.

    Attributes:
        beam_mm: The span where the carriage always travels all of the beam; None where it is the images'.
        ramp_mm: Distance to reach speed.
        speed_mm_s: Speed.
        dwell_s: Turnaround.
        head_swath_mm: What the last line of a block still has to pass under.
    """

    beam_mm: float | None
    ramp_mm: float
    speed_mm_s: float
    dwell_s: float
    head_swath_mm: float

    def sweep_s(self, span_mm: float) -> float:
        """Seconds for one sweep over printed edges that lie this far apart."""
        span = span_mm if self.beam_mm is None else self.beam_mm
        return (span + 4 * self.ramp_mm) / self.speed_mm_s + self.dwell_s


@dataclass(frozen=True, slots=True)
class PlanPress:
    """One press as the plan sees it. One person changes rolls, mode and underlay, so these times add up.

    Attributes:
        name: Its id.
        carriage: Its carriage.
        sweeps_per_mm: By setup: sweeps for each mm of feed.
        change_s: ``change_s[before][after]``: seconds to change between setups.
        roll_change_s: Seconds to put another roll on a lane.
        job_gap_mm: Feed between two jobs on a lane, unprinted.
        setup: What it stands in at the start.
        loaded: Roll on each lane at the start, by lane; a lane that is missing is empty.
        left_mm: What is left on these; a lane that is missing has no end.
        free_at_s: When it can start.
        hours: When people are there, as (from, until), rising, in seconds; empty is always. A block starts
            only within them, as it begins with somebody's hands; what has started runs on.
        diameter_tolerance_mm: On a common shaft: by how much two rolls may differ; None where shafts are
            separate.
    """

    name: str
    carriage: Carriage
    sweeps_per_mm: tuple[float, ...]
    change_s: tuple[tuple[float, ...], ...]
    roll_change_s: float
    job_gap_mm: float
    setup: int = NOTHING
    loaded: Mapping[int, int] = field(default_factory=dict)
    left_mm: Mapping[int, float] = field(default_factory=dict)
    free_at_s: float = 0.0
    hours: tuple[tuple[float, float], ...] = ()
    diameter_tolerance_mm: float | None = None


@dataclass(frozen=True, slots=True)
class RollKind:
    """Rolls that can stand in for one another: the same substrate and width.

    Attributes:
        name: Substrate and width, for people.
        thickness_um: Of the material.
        stock_mm: Lengths of the rolls on the shelf; None where they never run out.
        core_mm: Outer diameter of the core.
    """

    name: str
    thickness_um: float
    stock_mm: tuple[float, ...] | None = None
    core_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Stand:
    """A kind of roll on a lane: where a job may be printed."""

    press: int
    lane: int
    roll: int


@dataclass(frozen=True, slots=True)
class Image:
    """Where a job would lie on a stand: its printed edges on the beam, and its length along the feed."""

    left_mm: float
    right_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class PlanJob:
    """One job to plan.

    Attributes:
        name: Its id.
        setup: Print mode, layers and underlay, as an index; common to all that prints at once.
        images: Where it may be printed, by stand; at least one.
        due_s: When it has to be done.
        weight: How much its lateness counts.
        rank: Jobs of a lower rank are printed before those of a higher one on the same press: the priority
            that somebody gave.
    """

    name: str
    setup: int
    images: Mapping[int, Image]
    due_s: float = inf
    weight: float = 1.0
    rank: int = 0


@dataclass(frozen=True, slots=True)
class Problem:
    """All of it.

    Attributes:
        presses: The presses.
        lanes: Names of the lanes of all presses.
        setups: Names of the setups.
        rolls: Kinds of rolls.
        stands: Kinds of rolls on lanes.
        beside: By stand: the stands that may print at the same time.
        overlapping: By lane: the lanes that share a part of the beam with it; a roll there has to go.
        jobs: The jobs.
        running: By press: what prints there now, and cannot be moved: (setup, rows), a row being a stand
            and its jobs in order.
    """

    presses: tuple[PlanPress, ...]
    lanes: tuple[str, ...]
    setups: tuple[str, ...]
    rolls: tuple[RollKind, ...]
    stands: tuple[Stand, ...]
    beside: tuple[frozenset[int], ...]
    overlapping: tuple[tuple[int, ...], ...]
    jobs: tuple[PlanJob, ...]
    running: Mapping[int, tuple[int, tuple[tuple[int, tuple[int, ...]], ...]]] = field(default_factory=dict)

    def stand_at(self) -> dict[tuple[int, int], int]:
        """Stands by lane and roll."""
        return {(stand.lane, stand.roll): index for index, stand in enumerate(self.stands)}
