"""The account of the rolls: taken over from the shop folder once, charged as jobs print, told to the MIS."""

from collections.abc import Sequence

from ticketbridge.decide.estimate.roll import level_of
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.reporting import report
from ticketbridge.hand_over.write_resources import media_attributes
from ticketbridge.model.event import ROLL_USED, Event
from ticketbridge.model.job import Job, Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.stock import StockRoll
from ticketbridge.model.substrate import Roll
from ticketbridge.report.compose import roll_on_lane
from ticketbridge.store.transaction import Transaction


def fill_stock(bridge: Bridge) -> None:
    """Take over the rolls that the shop folder names and the store has never seen.

    The folder is only the first fill: a roll that the store knows, on a lane, on the shelf or gone, is the
    store's business, and a lane that has a roll keeps it.
    """
    with bridge.store.transaction() as tx:
        known = {one.roll.identity for one in tx.stock()}
        named: set[tuple[str, int]] = set()
        loaded = tx.rolls()
        for device_id, (_, lane) in bridge.lanes.items():
            if lane.roll is None:
                continue
            roll = _told_apart(lane.roll, named)
            if roll.identity not in known and device_id not in loaded:
                tx.load_roll(device_id, roll, bridge.now())
                tx.tell(Event("roll loaded", bridge.now(), who=device_id, facts=roll.summary()))
        for roll in (_told_apart(one, named) for one in bridge.shop.stock):
            if roll.identity not in known:
                tx.receive_roll(roll, bridge.now())
                tx.tell(Event("roll received", bridge.now(), facts=roll.summary()))


def _told_apart(roll: Roll, named: set[tuple[str, int]]) -> Roll:
    """Rolls of one lot that the shop folder does not number are numbered in its order."""
    number = roll.number
    while (roll.lot, number) in named:
        number += 1
    named.add((roll.lot, number))
    return roll.model_copy(update={"number": number})


def charge(bridge: Bridge, tx: Transaction, job: Standing, up_to_m: float) -> float:
    """Take a job's roll length off the account of the roll on its lane, as far as it was not taken off before.

    A roll may be changed in the middle of a job; what was charged to the first is not charged to the second.

    Args:
        bridge: The bridge.
        tx: The transaction.
        job: The job.
        up_to_m: What the job has used of rolls since it began.

    Returns:
        The length left by account.
    """
    now = bridge.now()
    length_m = max(0.0, up_to_m - tx.charged_m(job.queue_entry_id))
    before = tx.rolls().get(job.device_id)
    left_m = tx.use_roll(job.device_id, length_m, now)
    facts = {"length_m": length_m, "length_left_m": left_m, "lot": before.lot if before else None}
    tx.tell(Event(ROLL_USED, now, job.queue_entry_id, job.device_id, facts))
    if before is not None and before.length_left_m > 0 and left_m <= 0:
        tx.tell(Event("roll used up", now, who=job.device_id, facts=before.summary()))
        report_roll(bridge, tx, job.device_id)
    return left_m


def settle(bridge: Bridge, tx: Transaction, device_id: str) -> None:
    """Bring the account of a lane's roll to this moment: running jobs are charged by their share of good pieces."""
    for job in tx.open_jobs():
        if job.device_id == device_id and job.given and job.state in (State.RUNNING, State.SUSPENDED):
            share = min(1.0, job.amount / job.quantity)
            charge(bridge, tx, job, share * job.roll_length_mm / 1000)


def roll_at_start(job: Job, stock: Sequence[StockRoll]) -> StockRoll | None:
    """The roll that a job will be printed on, as far as the record tells; None where the stock lacks its roll.

    That is the roll it was laid out for. But a like roll that lies on the lane and holds enough is not taken
    off for it where it was put there after the job was laid out (then a person, or an earlier job, knows
    better), or where the other one is on another lane.
    """
    if job.roll is None:
        return None
    wanted = next((one for one in stock if one.roll.identity == job.roll.identity), None)
    there = next((one for one in stock if one.device_id == job.device_id), None)
    if there is None or there is wanted:
        return wanted
    like = (there.roll.substrate, there.roll.width_mm) == (job.roll.substrate, job.roll.width_mm)
    enough = there.roll.length_left_m * 1000 >= job.estimate.roll_length_mm
    elsewhere = wanted is not None and wanted.device_id is not None
    if like and enough and (there.placed_at > job.submitted_at or elsewhere):
        return there
    return wanted


def report_roll(bridge: Bridge, tx: Transaction, device_id: str) -> None:
    """Tell every source which roll is on a lane now and what is left of it. An empty lane is not told."""
    roll = tx.rolls().get(device_id)
    substrate = bridge.shop.substrates.get(roll.substrate) if roll else None
    if roll is None or substrate is None:
        return
    press, _ = bridge.lanes[device_id]
    signal = roll_on_lane(
        device_id,
        media_attributes(substrate, press),
        lot=roll.lot,
        level=level_of(roll, substrate),
        left_m2=roll.length_left_m * roll.width_mm / 1000,
    )
    for source_id in bridge.sources:
        report(bridge, tx, source_id, [signal])
