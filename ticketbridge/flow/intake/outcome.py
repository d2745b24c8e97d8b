"""What became of a claimed file and of each order in it."""

from dataclasses import dataclass

from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.flow.moving_out import ACCEPTED, ARTWORK, REFUSED, REPEATED
from ticketbridge.flow.parts import Planning
from ticketbridge.flow.taking import Taken
from ticketbridge.model.codes import severity_of
from ticketbridge.model.finding import Finding, Severity
from ticketbridge.model.job import Job, Standing


@dataclass(frozen=True, slots=True)
class OrderOutcome:
    """What becomes of one order of a file.

    Attributes:
        place: ``accepted``, ``repeated`` or ``refused``.
        findings: Everything found about it; where good items were taken, also what is wrong with the others.
        job_id: As far as it could be read.
        jobs: The new jobs, one for each item that is new.
        replaced: Jobs of an earlier revision that these take the place of.
        stands: Queue entries that say the same already.
        planned: Jobs that say the same, but are planned anew.
    """

    place: str
    findings: tuple[Finding, ...] = ()
    job_id: str | None = None
    jobs: tuple[Job, ...] = ()
    replaced: tuple[Standing, ...] = ()
    stands: tuple[str, ...] = ()
    planned: tuple[Planning, ...] = ()

    def in_place_of(self, replaced: Standing) -> str:
        """The queue entry that stands for a replaced job: that of its own part, where the order still has it."""
        mine = [job for job in self.jobs if job.item.job_part_id == replaced.job_part_id] or self.jobs
        others = [*self.stands, *(planning.standing.queue_entry_id for planning in self.planned)]
        return mine[0].queue_entry_id if mine else others[0]

    def refusals(self) -> list[tuple[str | None, tuple[Finding, ...]]]:
        """What was refused, each with its reasons: single items by their JobPartID, or the whole order (None)."""
        errors = [finding for finding in self.findings if severity_of(finding) is Severity.ERROR]
        if not errors:
            return []
        if not (self.jobs or self.stands or self.planned):
            return [(None, self.findings)]
        parts = dict.fromkeys(error.place.part for error in errors)
        return [(part, tuple(one for one in errors if one.place.part == part)) for part in parts]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What becomes of one file."""

    taken: Taken
    orders: tuple[OrderOutcome, ...]

    @property
    def place(self) -> str:
        """Where the file goes: ``accepted`` as soon as one order of it was, ``repeated`` only if all are.

        Artwork that came alone and was accepted goes where the press opens it.
        """
        places = {order.place for order in self.orders}
        if ACCEPTED in places and kind_of(self.taken.claimed.original_name) is Kind.PDF:
            return ARTWORK
        return next(place for place in (ACCEPTED, REFUSED, REPEATED) if place in places)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything found in the file."""
        return tuple(finding for order in self.orders for finding in order.findings)

    @property
    def held(self) -> bool:
        """Whether its jobs are held from the start."""
        return self.taken.submission is not None and self.taken.submission.hold

    @property
    def submitted(self) -> Submitted:
        """What whoever submitted it is told."""
        stands = [name for order in self.orders for name in order.stands]
        return Submitted(self.place, self.findings, (*(job.queue_entry_id for job in self.jobs), *stands))

    @property
    def jobs(self) -> tuple[Job, ...]:
        """All new jobs."""
        return tuple(job for order in self.orders for job in order.jobs)
