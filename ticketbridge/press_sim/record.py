"""What the press has done with one ticket so far: enough to go on after a kill, and to say the same again.

Every timestamp that is reported stands here or in the print log, so a report that has to be written twice is
the same file with the same bytes.
"""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final

from ticketbridge.press_sim import jsonl

SETUP: Final = "Setup"
IN_PROGRESS: Final = "InProgress"
STOPPED: Final = "Stopped"
CLEANUP: Final = "Cleanup"
COMPLETED: Final = "Completed"
"""Not a phase: the moment at which the last phase ended."""

JAM: Final = "PaperJam"
OUT_OF_ROLL: Final = "MissResources"
"""Why a job stands (``JobPhase@StatusDetails``): any media that jams; media that ran out."""


@dataclass(frozen=True, slots=True)
class Phase:
    """A phase of the job (``PhaseTime@Status``) and when it began; it ends when the next one begins.

    Attributes:
        status: Its name.
        at: When it began.
        details: Why the job stands, where that is a fault; None in other phases.
        printed: With a fault: placements printed before it.
        waste: With a fault: pieces that it spoilt.
        waste_mm: With a fault: length of roll that it spoilt.
    """

    status: str
    at: str
    details: str | None = None
    printed: int = 0
    waste: int = 0
    waste_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why the ticket is not printed, since when, and the number of the report that says so."""

    reason: str
    at: str
    sequence: int


class Record:
    """The record of one serial, kept as a file of lines."""

    def __init__(self, path: Path) -> None:
        """Read the record, or begin one.

        Raises:
            Damaged: A line of it is not what the press writes.
        """
        self._path = path
        self.taken_at = ""
        self.phases: list[Phase] = []
        self.refusal: Refusal | None = None
        self.reported = 0
        self.returning = False
        jsonl.cut_torn_line(path)
        for row in jsonl.rows(path):
            self._apply(row)

    @property
    def status(self) -> str | None:
        """The phase the job is in, or None before the first."""
        return self.phases[-1].status if self.phases else None

    @property
    def faults(self) -> list[Phase]:
        """The standstills that a fault brought, oldest first."""
        return [phase for phase in self.phases if phase.details]

    @property
    def fault(self) -> str | None:
        """The fault that the job stands for now, or None."""
        return self.phases[-1].details if self.phases else None

    def end_of(self, phase: Phase) -> str | None:
        """When a phase ended, or None where it goes on."""
        after = [later.at for one, later in pairwise(self.phases) if one is phase]
        return after[0] if after else None

    def since(self, status: str, including: str = "") -> str:
        """When the first phase of that status began that had not ended before the moment ``including``."""
        ends = [phase.at for phase in self.phases[1:]] + ["9999"]
        began = (
            p.at for p, end in zip(self.phases, ends, strict=True) if p.status == status and end >= including
        )
        return next(began)

    def mark_taken(self, at: str) -> None:
        """The ticket was taken from the lane's folder."""
        self._add({"taken": at})

    def enter(self, status: str, at: str) -> None:
        """A phase begins."""
        self._add({"phase": status, "at": at})

    def stop_for(self, details: str, at: str, *, printed: int, waste: int, waste_mm: float) -> None:
        """A fault begins: what it is, how far the job was, what it spoils."""
        self._add(
            {
                "phase": STOPPED, "at": at, "details": details,
                "printed": printed, "waste": waste, "waste_mm": waste_mm,
            }
        )  # fmt: skip

    def refuse(self, reason: str, at: str) -> None:
        """The ticket will not be printed."""
        self._add({"refused": reason, "at": at, "sequence": self.reported + 1})

    def mark_reported(self, sequence: int) -> None:
        """The report with that number lies in the status folder; reports are written in rising order."""
        self._add({"reported": sequence})

    def mark_returning(self) -> None:
        """The returned ticket lies ready under its temporary name; from now on it is only renamed."""
        self._add({"returning": True})

    def _add(self, row: jsonl.Row) -> None:
        jsonl.append(self._path, [row])
        self._apply(row)

    def _apply(self, row: jsonl.Row) -> None:
        if "taken" in row:
            self.taken_at = row["taken"]
        elif "phase" in row:
            told = ("details", "printed", "waste", "waste_mm")
            more = {name: row[name] for name in told if name in row}
            self.phases.append(Phase(row["phase"], row["at"], **more))
        elif "refused" in row:
            self.refusal = Refusal(row["refused"], row["at"], row["sequence"])
        elif "reported" in row:
            self.reported = row["reported"]
        elif "returning" in row:
            self.returning = True
