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

    def as_json(self) -> dict[str, Any]:
        """Plain values for the store."""
        return {name: getattr(self, name) for name in self.__slots__} | {"ink_ml": dict(self.ink_ml)}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> "Estimate":
        """The reverse of ``as_json``."""
        return cls(**data)
