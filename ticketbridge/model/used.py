"""What presses say of their inks, and of what jobs have used."""

from dataclasses import dataclass

USED = "resources used"
"""What stands in a job's history when its press said what it has used so far; ``resource`` says of which kind."""


@dataclass(frozen=True, slots=True)
class Use:
    """An amount of something used by a job so far.

    Attributes:
        which: The lot or the separation.
        condition: ``Part@Condition``: Good, Waste, or empty where the press does not tell them apart.
        amount: In the unit of its kind: m2 of substrate, litres of ink.
    """

    which: str
    condition: str
    amount: float


@dataclass(frozen=True, slots=True)
class InkLevel:
    """How full an ink of a lane is, as its press said last.

    Attributes:
        separation: Its name.
        level: ``ResourceInfo@Level``: Empty, Low, OK, High, Full; None where the press did not say.
        available_l: Litres left; None where the press did not say.
    """

    separation: str
    level: str | None
    available_l: float | None
