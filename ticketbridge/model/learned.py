"""What returned tickets taught: by how much the estimates are corrected, and how sure that is."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Key = tuple[str, ...]
"""What a correction is for: a press; a press and a print mode; or these and a substrate. Ids, in this order."""


@dataclass(frozen=True, slots=True)
class Run:
    """One print that ended, as far as the learning is concerned.

    Attributes:
        press: Its press.
        print_mode: Its mode.
        substrate: What it was printed on.
        estimated: What the bare model said, in seconds or ml.
        actual: What it took, in the same unit.
    """

    press: str
    print_mode: str
    substrate: str
    estimated: float
    actual: float

    @property
    def keys(self) -> tuple[Key, Key, Key]:
        """What it teaches about, the widest first."""
        return ((self.press,), (self.press, self.print_mode), (self.press, self.print_mode, self.substrate))


@dataclass(frozen=True, slots=True)
class Actual:
    """What one print took, beside what the bare model had said.

    Attributes:
        queue_entry_id: The job.
        press: Its press.
        print_mode: Its mode.
        substrate: What it was printed on.
        estimated_s: Seconds by the bare model, so that a correction never feeds itself.
        actual_s: Seconds it printed, as if alone; None where the press did not say.
        estimated_ml: Ink of all channels by the bare model.
        actual_ml: Ink it used; None where the press did not say.
    """

    queue_entry_id: str
    press: str
    print_mode: str
    substrate: str
    estimated_s: float
    actual_s: float | None
    estimated_ml: float
    actual_ml: float | None


@dataclass(frozen=True, slots=True)
class Correction:
    """Actual = estimated x factor, give or take.

    Attributes:
        factor: 1 is the bare model.
        low: Nine of ten prints take at least estimated x low,
        high: and nine of ten at most estimated x high: so eight of ten lie between.
        runs: Prints that it rests on; 0 is the bare model, where nothing was learned yet.
    """

    factor: float = 1.0
    low: float = 1.0
    high: float = 1.0
    runs: int = 0


@dataclass(frozen=True, slots=True)
class Learned:
    """Everything that was learned about one quantity: time or ink.

    Attributes:
        corrections: By key.
        changed: Presses whose prints changed lately, with how many prints ago that was noticed, and by what factor.
    """

    corrections: Mapping[Key, Correction] = field(default_factory=dict)
    changed: Mapping[str, tuple[int, float]] = field(default_factory=dict)

    def for_print(self, press: str, print_mode: str, substrate: str) -> Correction:
        """The correction of one print: of its own kind where there is one, else of the next wider kind."""
        key: Key = (press, print_mode, substrate)
        while key:
            if key in self.corrections:
                return self.corrections[key]
            key = key[:-1]
        return Correction()


@dataclass(frozen=True, slots=True)
class Experience:
    """What was learned about time and about ink."""

    time: Learned = Learned()
    ink: Learned = Learned()

    def as_json(self) -> dict[str, Any]:
        """Plain values for people and programs."""
        return {"time": _as_json(self.time), "ink": _as_json(self.ink)}


NOTHING_LEARNED = Experience()
"""The bare models."""


def _as_json(learned: Learned) -> dict[str, Any]:
    return {
        "corrections": [
            {"kind": list(key), "factor": one.factor, "low": one.low, "high": one.high, "runs": one.runs}
            for key, one in learned.corrections.items()
        ],
        "changed": {press: {"runs_since": since, "by": by} for press, (since, by) in learned.changed.items()},
    }
