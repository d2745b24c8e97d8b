"""Jobs about to be handed over, laid out once more where the roll on their lane has flaws.

A job is laid out when it comes in, behind all that was queued then. Others may have gone before it since, or a
person has noted a splice; so the last word is spoken when its ticket is written.
"""

from collections.abc import Sequence
from dataclasses import replace

from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.layout.flaws import behind_flaws, closed_up
from ticketbridge.flow.bridge import AT_LANE, Bridge
from ticketbridge.model.job import Job
from ticketbridge.model.substrate import Roll
from ticketbridge.store.transaction import Transaction


def on_their_rolls(bridge: Bridge, tx: Transaction, jobs: Sequence[Job]) -> tuple[list[Job], list[Job]]:
    """The jobs as their lanes' rolls will be when they begin, and those among them that had to be moved.

    Args:
        bridge: The bridge.
        tx: A transaction to read in.
        jobs: In the order in which they go to their lanes.
    """
    loaded = tx.rolls()
    if not any(roll.flaws for roll in loaded.values()) and not any(
        job.roll and job.roll.flaws for job in jobs
    ):
        return list(jobs), []
    ahead_mm = _given_mm(tx)
    found, moved = [], []
    for job in jobs:
        roll = loaded.get(job.device_id)
        laid = job
        if roll is not None and job.roll is not None and roll.identity == job.roll.identity:
            laid = _laid_on(bridge, job, roll.used(ahead_mm.get(job.device_id, 0.0)))
        found.append(laid)
        if laid.layout != job.layout:
            moved.append(laid)
        ahead_mm[job.device_id] = ahead_mm.get(job.device_id, 0.0) + laid.estimate.roll_length_mm
    return found, moved


def _given_mm(tx: Transaction) -> dict[str, float]:
    """By lane: what the jobs that the press has will still take off the roll."""
    ahead: dict[str, float] = {}
    for job in tx.open_jobs():
        if job.given and job.state in AT_LANE:
            left_mm = max(0.0, job.roll_length_mm - 1000 * tx.charged_m(job.queue_entry_id))
            ahead[job.device_id] = ahead.get(job.device_id, 0.0) + left_mm
    return ahead


def _laid_on(bridge: Bridge, job: Job, roll: Roll) -> Job:
    press, lane = bridge.lanes[job.device_id]
    layout = behind_flaws(closed_up(job.layout, lane.gap_mm), roll.flaws, lane.gap_mm)
    if layout.length_mm == job.layout.length_mm and layout.placements == job.layout.placements:
        return job
    takes = estimate(layout, job.item, bridge.shop.print_modes[job.item.print_mode], press)
    return replace(job, roll=roll, layout=layout, estimate=takes)
