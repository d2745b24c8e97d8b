"""Jobs about to be handed over, once more put on the roll that is there, and laid out behind its flaws.

A job is laid out when it comes in, behind all that was queued then. Others may have gone before it since, or a
person has noted a splice; so the last word is spoken when its ticket is written.
"""

from collections.abc import Sequence
from dataclasses import replace

from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.layout.flaws import behind_flaws, closed_up
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.roll_account import roll_at_start
from ticketbridge.model.job import Job
from ticketbridge.model.job_states import AT_LANE
from ticketbridge.model.stock import StockRoll
from ticketbridge.model.substrate import Roll
from ticketbridge.store.transaction import Transaction


def on_their_rolls(
    bridge: Bridge, tx: Transaction, jobs: Sequence[Job], stock: Sequence[StockRoll]
) -> tuple[list[Job], list[Job]]:
    """The jobs on the rolls as they will be when the jobs begin, and those among them that this changes.

    Args:
        bridge: The bridge.
        tx: A transaction to read in.
        jobs: In the order in which they go to their lanes.
        stock: All rolls as they are now.
    """
    ahead_mm = given_mm(tx) if any(one.roll.flaws for one in stock) else {}
    found, changed = [], []
    for job in jobs:
        starts_on = roll_at_start(job, stock)
        laid = job
        if starts_on is not None:
            used_mm = ahead_mm.get(job.device_id, 0.0) if starts_on.device_id == job.device_id else 0.0
            laid = _laid_on(bridge, job, starts_on.roll.used(used_mm))
        found.append(laid)
        if laid is not job:
            changed.append(laid)
        ahead_mm[job.device_id] = ahead_mm.get(job.device_id, 0.0) + laid.estimate.roll_length_mm
    return found, changed


def given_mm(tx: Transaction) -> dict[str, float]:
    """By lane: what the jobs that the press has will still take off the roll."""
    ahead: dict[str, float] = {}
    for job in tx.open_jobs():
        if job.given and job.state in AT_LANE:
            left_mm = max(0.0, job.roll_length_mm - 1000 * tx.charged_m(job.queue_entry_id))
            ahead[job.device_id] = ahead.get(job.device_id, 0.0) + left_mm
    return ahead


def _laid_on(bridge: Bridge, job: Job, roll: Roll) -> Job:
    """The job on this roll; the very same where neither the roll nor a place on it is another."""
    press, lane = bridge.lanes[job.device_id]
    layout = job.layout
    if roll.flaws or (job.roll and job.roll.flaws):
        layout = behind_flaws(closed_up(job.layout, lane.gap_mm), roll.flaws, lane.gap_mm)
    same_places = layout.placements == job.layout.placements
    if same_places and job.roll is not None and job.roll.identity == roll.identity:
        return job
    takes = job.estimate
    if not same_places:
        takes = estimate(
            layout, job.item, bridge.shop.print_modes[job.item.print_mode], press, bridge.experience
        )
    return replace(job, roll=roll, layout=layout, estimate=takes)
