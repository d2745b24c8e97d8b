"""Gang runs: waiting jobs whose pieces are printed packed together, as one ticket; which, and when it pays.

A gang is the next job of a lane and those right behind it in line, so nobody overtakes anybody. It never makes a
job late that would be in time alone, nor one that is late anyhow any later, and those behind it never wait longer.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import accumulate, takewhile
from typing import Final

from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.layout import RollMeasures, lay_out_together
from ticketbridge.decide.release import WaitingJob
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.job import Job
from ticketbridge.model.layout import Run
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.substrate import PrintMode, Roll

MOST_MEMBERS: Final = 8
"""More jobs than this are not mixed: somebody has to sort them again at the cutting table."""

TOLERANCE_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class Gang:
    """Jobs on one run.

    Attributes:
        members: Each with what it has of the run as its layout, in the run's coordinates, and its share of the
            estimate. Their shares together are the whole.
        run: Where all pieces lie.
        estimate: Of the whole run.
        alone_mm: The roll that the members would take one by one.
    """

    members: tuple[Job, ...]
    run: Run
    estimate: Estimate
    alone_mm: float

    @property
    def name(self) -> str:
        """The queue entry under which the press has it."""
        return gang_name(self.members[0].queue_entry_id)

    @property
    def names(self) -> tuple[str, ...]:
        """The queue entries of its members."""
        return tuple(job.queue_entry_id for job in self.members)


def gang_name(first: str) -> str:
    """A gang's name, of its first member's: ``Q000012`` leads ``G000012``. A job is handed over once, so it is unique."""
    return f"G{first[1:]}"


def behind(leader: str, line: Sequence[WaitingJob], due_within: timedelta) -> tuple[str, ...]:
    """The jobs right behind this one in its lane's line that are like it and due at about the same time.

    Args:
        leader: The next job of its lane.
        line: All jobs that may go to that lane, in order, the leader among them.
        due_within: How far apart the first and the last due time may lie.
    """
    names = [job.queue_entry_id for job in line]
    first, *others = line[names.index(leader) :]
    found, dues = list[str](), [first.due]
    for job in others[: MOST_MEMBERS - 1]:
        dues.append(job.due)
        if _kind(job) != _kind(first) or not _close(dues, due_within):
            break
        found.append(job.queue_entry_id)
    return tuple(found)


def _kind(job: WaitingJob) -> tuple[str, str, str, str]:
    return job.device_id, job.substrate, job.print_mode, job.layer_stack.value


def _close(dues: Sequence[datetime | None], within: timedelta) -> bool:
    known = [due for due in dues if due is not None]
    return not known or (len(known) == len(dues) and max(known) - min(known) <= within)


def gang_of(
    jobs: Sequence[Job],
    roll: Roll,
    press: Press,
    lane: Lane,
    mode: PrintMode,
    begins_at: datetime,
    experience: Experience = NOTHING_LEARNED,
) -> Gang | None:
    """As many of these jobs on one run as it pays for; None where no two of them gain by it.

    Args:
        jobs: In line, alike; the first is next.
        roll: The roll as it will be when they begin. Where it has a flaw, every job is laid out for itself.
        press: Their press.
        lane: Their lane.
        mode: Their print mode.
        begins_at: When the press will begin with the first at the latest, as far as is known.
        experience: What finished prints taught.
    """
    able = [] if roll.flaws else list(takewhile(lambda job: _may_share(job, roll), jobs))
    for count in range(len(able), 1, -1):
        gang = _run_of(able[:count], press, lane, mode, experience)
        if gang is not None and _pays(gang, able[:count], roll, begins_at):
            return gang
    return None


def _may_share(job: Job, roll: Roll) -> bool:
    """Whole pieces only, with artwork, laid out for this roll."""
    return (
        not job.layout.panels
        and job.item.pattern is None
        and job.item.artwork is not None
        and job.roll is not None
        and job.roll.identity == roll.identity
    )


def _run_of(
    jobs: Sequence[Job], press: Press, lane: Lane, mode: PrintMode, experience: Experience
) -> Gang | None:
    first = jobs[0].layout
    measures = RollMeasures(
        first.usable_width_mm, first.roll_width_mm, lane.gap_mm, first.leader_mm, first.trailer_mm, lane.marks
    )
    run = lay_out_together([job.item for job in jobs], measures)
    if not isinstance(run, Run) or any(part.panels for part in run.parts):
        return None
    takes = estimate(run.whole, jobs[0].item, mode, press, experience)
    charged = run.charged_mm()
    members = tuple(
        replace(
            job, layout=part, estimate=_share(takes, charged_mm, part.piece_area_mm2, first.roll_width_mm)
        )
        for job, part, charged_mm in zip(jobs, run.parts, charged, strict=True)
    )
    return Gang(members, run, takes, sum(job.estimate.roll_length_mm for job in jobs))


def _share(takes: Estimate, charged_mm: float, pieces_mm2: float, roll_width_mm: float) -> Estimate:
    """One member's part of an estimate: time, ink and roll by the area it prints."""
    share = charged_mm / takes.roll_length_mm
    return replace(
        takes,
        print_s=takes.print_s * share,
        print_low_s=takes.print_low_s and takes.print_low_s * share,
        print_high_s=takes.print_high_s and takes.print_high_s * share,
        ink_ml={channel: amount_ml * share for channel, amount_ml in takes.ink_ml.items()},
        roll_length_mm=charged_mm,
        roll_area_m2=takes.roll_area_m2 * share,
        waste_percent=100 * (1 - pieces_mm2 / (charged_mm * roll_width_mm)),
    )


def _pays(gang: Gang, alone: Sequence[Job], roll: Roll, begins_at: datetime) -> bool:
    """Less roll and no more time than one after the other, there is roll enough, and nobody is later for it."""
    takes_mm, takes_s = gang.run.consumed_length_mm, gang.estimate.print_s
    if takes_mm > roll.length_left_m * 1000 or takes_mm > gang.alone_mm - TOLERANCE_MM:
        return False
    ends_s = list(accumulate(job.estimate.print_s for job in alone))
    if takes_s > ends_s[-1]:
        return False
    ends_at = begins_at + timedelta(seconds=takes_s)
    return all(
        job.order.due is None or ends_at <= max(job.order.due, begins_at + timedelta(seconds=alone_s))
        for job, alone_s in zip(alone, ends_s, strict=True)
    )
