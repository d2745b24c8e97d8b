"""A plan of the shop: which job is printed when, on which lane, beside what; and what the plan comes to."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """One job in the plan.

    Attributes:
        queue_entry_id: The job.
        job_id: As the MIS names it.
        device_id: The lane.
        press: The press of the lane, by id.
        roll: The kind of roll: substrate and width.
        setup: Print mode and layers, as people say them.
        position: Its place in the order of its press, from 1; jobs of one block count on.
        block: Which stop of the press it comes after, from 1; jobs of one block print without another stop.
        given: Whether the press has it already, so that nothing can be moved.
        changes_at: When the changes before its block begin.
        starts_at: When it begins to print.
        ends_at: When it is printed.
        due: When it has to be.
        beside: Queue entries that print on the other lanes of the press meanwhile.
    """

    queue_entry_id: str
    job_id: str
    device_id: str
    press: str
    roll: str
    setup: str
    position: int
    block: int
    given: bool
    changes_at: datetime
    starts_at: datetime
    ends_at: datetime
    due: datetime | None
    beside: tuple[str, ...] = ()

    @property
    def late_minutes(self) -> float:
        """Minutes after its due time; 0 where it is in time or has none."""
        return max(0.0, (self.ends_at - self.due).total_seconds() / 60) if self.due else 0.0

    def as_json(self) -> dict[str, Any]:
        """Plain values, times in ISO 8601."""
        found = {name: getattr(self, name) for name in self.__slots__}
        for name in ("changes_at", "starts_at", "ends_at", "due"):
            found[name] = found[name] and found[name].isoformat()
        return found | {"beside": list(self.beside), "late_minutes": round(self.late_minutes, 1)}


@dataclass(frozen=True, slots=True)
class PlanFigures:
    """What a plan comes to.

    Attributes:
        late_hours: Sum of hours late, each counted by the job's weight.
        late_jobs: How many are late.
        press_hours: From now until each press is done, added up.
        finish_at: When the last press is done.
        roll_changes: Rolls to put on.
        setup_changes: Changes of mode, layers or underlay.
        broken: Rules that the plan could not keep, such as a job longer than any roll.
    """

    late_hours: float
    late_jobs: int
    press_hours: float
    finish_at: datetime
    roll_changes: int
    setup_changes: int
    broken: int

    def as_json(self) -> dict[str, Any]:
        """Plain values."""
        found = {name: getattr(self, name) for name in self.__slots__}
        return found | {"finish_at": self.finish_at.isoformat()}


@dataclass(frozen=True, slots=True)
class ShopPlan:
    """A plan, and how good it is.

    Attributes:
        made_at: The moment it is made for.
        jobs: In the order of the clock.
        unplanned: Jobs that cannot be planned yet, each with the code that says why.
        figures: What it comes to.
        first_come: What the same jobs come to in the order they came, by the same model.
        least_press_hours: No plan can take fewer: a proven bound.
        least_late_hours: No plan can be less late: each job as if it were alone.
        exact: Whether no other plan can be done earlier.
    """

    made_at: datetime
    jobs: tuple[PlannedJob, ...]
    unplanned: Mapping[str, str]
    figures: PlanFigures
    first_come: PlanFigures
    least_press_hours: float
    least_late_hours: float
    exact: bool = False

    @property
    def gap_percent(self) -> float:
        """How far the press time lies above the bound; 0 is as good as can be."""
        if self.least_press_hours <= 0:
            return 0.0
        return max(0.0, 100 * (self.figures.press_hours / self.least_press_hours - 1))

    def as_json(self) -> dict[str, Any]:
        """Plain values."""
        return {
            "made_at": self.made_at.isoformat(),
            "jobs": [job.as_json() for job in self.jobs],
            "unplanned": dict(self.unplanned),
            "figures": self.figures.as_json(),
            "first_come": self.first_come.as_json(),
            "least_press_hours": self.least_press_hours,
            "least_late_hours": self.least_late_hours,
            "gap_percent": round(self.gap_percent, 2),
        }
