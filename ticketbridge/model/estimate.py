"""What a job will take: time, ink, roll."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Estimate:
    """Time, ink and roll of one job on one lane.

    Attributes:
        advance_mm: Step of the roll per sweep.
        steps: Sweeps over the job.
        step_s: Seconds per step.
        print_s: Seconds for the print.
        ink_ml: Per channel.
        coverage_assumed: Whether the ink rests on the mode's typical coverage and not on the artwork.
        roll_length_mm: Length of roll used, leader and trailer included.
        roll_area_m2: Area of roll used.
        waste_percent: Share of it that is not a finished piece.
        print_low_s: Eight of ten prints take between this
        print_high_s: and this; None in estimates made before anything was learned.
        time_factor: By what finished prints correct the model's time; 1 is the bare model.
        time_runs: How many prints that rests on; 0 is the bare model.
        ink_low_share: Eight of ten prints use between this share of the ink
        ink_high_share: and this.
        ink_factor: By what finished prints correct the model's ink.
        ink_runs: How many prints that rests on.
    """

    advance_mm: float
    steps: int
    step_s: float
    print_s: float
    ink_ml: Mapping[str, float]
    coverage_assumed: bool
    roll_length_mm: float
    roll_area_m2: float
    waste_percent: float
    print_low_s: float | None = None
    print_high_s: float | None = None
    time_factor: float = 1.0
    time_runs: int = 0
    ink_low_share: float = 1.0
    ink_high_share: float = 1.0
    ink_factor: float = 1.0
    ink_runs: int = 0

    def as_json(self) -> dict[str, Any]:
        """Plain values for the store."""
        return {name: getattr(self, name) for name in self.__slots__} | {"ink_ml": dict(self.ink_ml)}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> "Estimate":
        """The reverse of ``as_json``."""
        return cls(**data)
