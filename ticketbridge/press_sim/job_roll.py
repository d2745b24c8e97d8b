"""How a job lies on the rolls it is printed on: where each begins, and what no longer fits."""

from collections.abc import Sequence
from dataclasses import dataclass

from ticketbridge.press_sim.placements import Placement
from ticketbridge.press_sim.record import OUT_OF_ROLL, Phase

_TOLERANCE_MM = 0.01


@dataclass(slots=True)
class JobRoll:
    """The roll that a job is on.

    Attributes:
        order: The job's placements as they come off.
        leader_mm: Unprinted length at the start of a roll.
        left_mm: Length that the roll had when the job came onto it.
        begins_mm: Where on the job's surface this roll begins.
        spoilt_mm: Length that faults have spoilt on this roll.
    """

    order: Sequence[Placement]
    leader_mm: float
    left_mm: float
    begins_mm: float = 0.0
    spoilt_mm: float = 0.0

    def suffer(self, fault: Phase) -> None:
        """A fault that goes on or is over has spoilt some length."""
        self.spoilt_mm += fault.waste_mm

    def renew(self, full_mm: float, printed: int) -> None:
        """A new roll is on; the job goes on behind what is printed."""
        self.left_mm, self.spoilt_mm = full_mm, 0.0
        self.begins_mm = min(placement.box.bottom for placement in self.order[printed:])

    def used_mm(self, printed: int) -> float:
        """Length of this roll that is used when so many placements are printed."""
        ends = [placement.box.top - self.begins_mm for placement in self.order[:printed]]
        return self.leader_mm + self.spoilt_mm + max(ends, default=0.0) if ends else self.spoilt_mm

    def first_beyond(self, printed: int) -> int:
        """The first placement that this roll cannot hold; their number where it holds all."""
        room_mm = self.left_mm - self.leader_mm - self.spoilt_mm + _TOLERANCE_MM
        for index in range(printed, len(self.order)):
            if self.order[index].box.top - self.begins_mm > room_mm:
                return index
        return len(self.order)

    def begins_on_roll(self, index: int) -> bool:
        """Whether a placement at least begins before the roll ends, and so is spoilt by its end."""
        room_mm = self.left_mm - self.leader_mm - self.spoilt_mm
        return self.order[index].box.bottom - self.begins_mm < room_mm


def roll_after(faults: Sequence[Phase], ended: Sequence[bool], roll: JobRoll, full_mm: float) -> JobRoll:
    """The roll as the faults on record leave it.

    Args:
        faults: Oldest first.
        ended: For each of them, whether the job went on.
        roll: As the job found it.
        full_mm: Length of a new roll.
    """
    for fault, over in zip(faults, ended, strict=True):
        if fault.details == OUT_OF_ROLL and over:
            roll.renew(full_mm, fault.printed)
        elif fault.details != OUT_OF_ROLL:
            roll.suffer(fault)
    return roll
