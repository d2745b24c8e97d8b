"""What a crash left half done, put right at every start from evidence: names in folders and rows in the store."""

from dataclasses import replace

from ticketbridge.accept.claim import MOST_ATTEMPTS, Claimed, Claimer, split_attempts
from ticketbridge.decide.route import choose, judge_lanes
from ticketbridge.flow.accepting import accept
from ticketbridge.flow.artwork_at_hand import sweep_copies
from ticketbridge.flow.bridge import Bridge, planned_on, read_world
from ticketbridge.flow.moving_out import REFUSED, move_out
from ticketbridge.flow.reporting import report
from ticketbridge.flow.roll_account import fill_stock
from ticketbridge.flow.submitting import rescue_submissions
from ticketbridge.hand_over.deliver import hand_over, hold_for, leftovers, withdraw
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import WAITS_FOR_ROLL, Job
from ticketbridge.model.layout import Layout
from ticketbridge.report.compose import refused
from ticketbridge.spool import durable
from ticketbridge.store.records import Intake


def rescue(bridge: Bridge, *, crashed: bool) -> None:
    """Everything, once, before anything new is taken.

    Args:
        bridge: The bridge.
        crashed: Whether unfinished claims tell of a process that ended over them, which is counted; a full
            disk or a locked database is not the ticket's fault.
    """
    fill_stock(bridge)
    for source_id in bridge.sources:  # first, since a press may open artwork as soon as it has the ticket
        move_out_known(bridge, source_id)
    for device_id in bridge.lanes:
        rescue_lane(bridge, device_id)
    judge_again(bridge)
    sweep_copies(bridge)
    for source_id in bridge.sources:
        rescue_claims(bridge, source_id, count=crashed)


def rescue_lane(bridge: Bridge, device_id: str) -> None:
    """Finish or withdraw what lies in a lane under a temporary name; a lane that is not there is asked later.

    A temporary file with a committed intention is not delivered, whatever the store says: deliver it. One
    without is older than its intention: withdraw it. An intention without a temporary file was delivered.
    """
    try:
        if bridge.link(device_id) is None:
            _settle_lane(bridge, device_id)
        else:
            rescue_submissions(bridge, device_id)
    except (OSError, durable.PlaceNotReady) as error:
        bridge.lane_is_gone(device_id, error)
        return
    if device_id in bridge.unfinished_lanes:
        bridge.unfinished_lanes.discard(device_id)
        bridge.plan_is_old = True
        bridge.notice("lane.ready", device_id=device_id)


def _settle_lane(bridge: Bridge, device_id: str) -> None:
    lane = bridge.lane_places(device_id)
    with bridge.store.transaction() as tx:
        intended = tx.deliveries(device_id)
    named = {delivery.temporary_name for delivery in intended}
    for queue_entry_id in leftovers(lane):
        hold = hold_for(queue_entry_id, device_id, lane)
        if hold.temporary_name in named:
            hand_over(hold)
        else:
            withdraw(hold)
    open_ones = [delivery.queue_entry_id for delivery in intended if not delivery.delivered]
    if open_ones:
        with bridge.store.transaction() as tx:
            tx.mark_delivered(open_ones)


def move_out_known(bridge: Bridge, source_id: str) -> None:
    """Files claimed by an earlier run that the store knows go where it says."""
    for claimed in _found_claimed(bridge, source_id):
        with bridge.store.transaction() as tx:
            place, findings = tx.intake_outcome(claimed.claim_id)
        if place is not None:
            move_out(bridge, claimed, place, findings)


def rescue_claims(bridge: Bridge, source_id: str, *, count: bool) -> None:
    """Files claimed by an earlier run that the store does not know are taken in one by one.

    A newer file may have been taken meanwhile, so each counts as one that waited. A source whose folder is
    not there is asked again later and keeps nobody else waiting.
    """
    move_out_known(bridge, source_id)
    claimer = Claimer(source_id, bridge.source_places(source_id))
    for claimed in _found_claimed(bridge, source_id):
        mine = claimer.count_attempt(claimed) if count else claimed
        attempts = split_attempts(mine.claim_id)[1]
        if attempts > MOST_ATTEMPTS:
            set_aside(bridge, mine, attempts - 1)
        else:
            for left in accept(bridge, [replace(mine, waited=True)]):
                accept(bridge, [left])


def _found_claimed(bridge: Bridge, source_id: str) -> list[Claimed]:
    """What lies claimed at a source; nothing, and a note of it, where its folder is not there."""
    places = bridge.source_places(source_id)
    try:
        durable.require_ready(places.claimed)
        found = Claimer(source_id, places).found_claimed()
    except (OSError, durable.PlaceNotReady) as error:
        bridge.source_is_gone(source_id, error)
        return []
    bridge.unfinished_sources.discard(source_id)
    return found


def set_aside(bridge: Bridge, claimed: Claimed, attempts: int) -> None:
    """A file that ended the process too often is refused unread."""
    finding = Finding("intake.set-aside", Place(claimed.original_name), {"attempts": attempts})
    now = bridge.now()
    with bridge.store.transaction() as tx:
        tx.record_intakes(
            [Intake(claimed.claim_id, claimed.source_id, claimed.original_name, REFUSED, "", [finding])], now
        )
        report(bridge, tx, claimed.source_id, [refused(claimed.original_name, [finding], None, now)])
    move_out(bridge, claimed, REFUSED, [finding])


def judge_again(bridge: Bridge) -> None:
    """Jobs that wait for a roll, or for what the catalogue has lost, are judged anew: it may be there by now.

    So are those that no lane has yet and whose roll is too short; they keep it where there is no longer one. Where
    what a job waits for is not there, it waits on, and its verdicts say for what.
    """
    with bridge.store.transaction() as tx:
        world = read_world(bridge, tx)
        shelf = world.shelf
        crew = bridge.shop.settings.on_shift(bridge.now())
        for standing in tx.waiting_jobs():
            job = tx.job(standing.queue_entry_id)
            lacks_roll = standing.status_details == WAITS_FOR_ROLL or _too_short(job)
            if not lacks_roll and bridge.shop.knows(standing.substrate, standing.print_mode):
                continue
            judged = judge_lanes(
                job.item, job.order, bridge.shop, world.states, bridge.now(), crew, shelf, bridge.experience
            )
            again = replace(job, judged=tuple(one.verdict for one in judged))
            best = choose(judged)
            if best is not None and best.roll and best.estimate and isinstance(best.layout, Layout):
                again = replace(
                    again,
                    device_id=best.lane.device_id,
                    roll=best.roll.roll,
                    layout=best.layout,
                    estimate=best.estimate,
                )
                facts = {"device_id": again.device_id}
                if again.roll != job.roll:
                    tx.tell(Event("judged again", bridge.now(), job.queue_entry_id, facts=facts))
                shelf = planned_on(shelf, again)
            tx.judge_again(standing, again)


def _too_short(job: Job) -> bool:
    """Whether its lane's verdict is that the roll it was laid out for does not hold enough."""
    mine = (lane for lane in job.judged if lane.device_id == job.device_id)
    return any(verdict.code == "lanes.length-short" for lane in mine for verdict in lane.verdicts)
