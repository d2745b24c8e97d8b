"""What lies on one run of a lane: a job alone, or the members of a gang, in words and as a picture."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ticketbridge.cli.reasons import cut_lines
from ticketbridge.cli.shop_option import load_or_exit
from ticketbridge.decide.layout.cut_list import cut_list
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.model.job import Job
from ticketbridge.model.layout import Layout, Run
from ticketbridge.report.roll_picture import Roll, roll_picture

if TYPE_CHECKING:
    from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class RunView:
    """The jobs of a run with what each has of it."""

    name: str
    parts: Sequence[tuple[Job, Layout]]

    @property
    def run(self) -> Run:
        """Where all pieces lie."""
        return Run(tuple(layout for _, layout in self.parts))


def run_of(tx: "Transaction", name: str) -> RunView | None:
    """The run of a gang, of a gang's member, or of a job alone; None where there is no such entry."""
    members = tx.gang_members(tx.gang_of(name) or name)
    if members:
        gang = tx.gang_of(name) or name
        return RunView(gang, [(tx.job(one), layout) for one, layout in members.items()])
    if tx.find_standing(name) is None:
        return None
    job = tx.job(name)
    return RunView(name, [(job, job.layout)])


def gang_lines(view: RunView) -> list[str]:
    """How a gang's run is shared, and how its pieces are cut apart; nothing for a job alone."""
    if len(view.parts) == 1:
        return []
    whole = view.run.whole
    size = f"{whole.length_mm:.0f} mm of print, {whole.consumed_length_mm / 1000:.2f} m of roll"
    lines = [
        f"{view.name} is one run of {len(view.parts)} jobs: {len(whole.placements)} pieces, {size}",
    ]
    for (job, layout), charged_mm in zip(view.parts, view.run.charged_mm(), strict=True):
        places = ", ".join(f"{one.x_mm:.0f}/{one.y_mm:.0f}" for one in layout.placements)
        size = f"{job.item.finished_width_mm:.0f} x {job.item.finished_height_mm:.0f} mm"
        lines.append(
            f"  {job.queue_entry_id} {job.order.job_id}: {job.item.quantity} x {size}, {charged_mm / 1000:.2f} m of roll;"
            f" from left/start in mm: {places}"
        )
    return lines + cut_lines(whole)


def run_picture(view: RunView, folder: Path) -> bytes:
    """The roll with whose pieces lie where, as SVG."""
    found = load_or_exit(folder).shop.lanes().get(view.parts[0][0].device_id)
    margin_mm = found[1].margin_left_mm if found else 0.0
    together = len(view.parts) > 1
    rolls = []
    for job, layout in view.parts:
        title = f"{job.queue_entry_id}, {job.order.job_id}, part {job.item.job_part_id}: {job.device_id}"
        marks = marks_on(layout, job.item, job.order.job_id, job.queue_entry_id)
        label = job.queue_entry_id if together else ""
        rolls.append(Roll(title, job.item, layout, marks, margin_mm, label=label))
    whole = view.run.whole
    names = " and ".join(job.queue_entry_id for job, _ in view.parts)
    first = Roll(
        f"{view.name}: {names}" if together else rolls[0].title,
        rolls[0].item, rolls[0].layout, rolls[0].marks, margin_mm,
        cut_list(whole.placements).cuts, rolls[1:], rolls[0].label,
    )  # fmt: skip
    return roll_picture([first])
