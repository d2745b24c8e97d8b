"""What a crash left half done, put right at every start from evidence: names in folders and rows in the store."""

from collections.abc import Collection, Mapping
from contextlib import suppress
from dataclasses import replace

from ticketbridge.accept.claim import MOST_ATTEMPTS, THIS_RUN, Claimed, Claimer, split_attempts
from ticketbridge.accept.submitted import bridge_run_of, is_submitted
from ticketbridge.decide.route import choose, judge_lanes
from ticketbridge.flow.bridge import Bridge, planned_on, read_world
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.artwork_at_hand import sweep_copies
from ticketbridge.flow.moving_out import REFUSED, move_out
from ticketbridge.flow.press.submitted_to_press import rescue_submissions
from ticketbridge.flow.reporting import report
from ticketbridge.flow.roll_account import fill_stock
from ticketbridge.hand_over.deliver import Hold, hand_over, leftovers, withdraw
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import WAITS_FOR_ROLL, Job
from ticketbridge.model.layout import Layout
from ticketbridge.model.share import LANE, SOURCE, Share, lease_name
from ticketbridge.report.compose import refused
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.places import LanePlaces
from ticketbridge.store.records import Delivery, Intake


def rescue(bridge: Bridge, *, crashed: bool, only: Share | None = None) -> None:
    """Everything, once, before anything new is taken.

    Args:
        bridge: The bridge.
        crashed: Whether unfinished claims tell of a process that ended over them, which is counted; a full
            disk or a locked database is not the ticket's fault.
        only: What of its share; all of it where none is given.
    """
    share = only or bridge.share
    sources = [source_id for source_id in bridge.my_sources if share.has(SOURCE, source_id)]
    fill_stock(bridge)
    for source_id in sources:  # first, since a press may open artwork as soon as it has the ticket
        move_out_known(bridge, source_id)
    for device_id in bridge.my_lanes:
        if share.has(LANE, device_id):
            rescue_lane(bridge, device_id)
    judge_again(bridge)
    with suppress(ShareHangs):  # when it answers, all of this is done again
        sweep_copies(bridge)
    asked_for = bridge.sources.keys() - bridge.my_sources if only is None else set[str]()
    for source_id in (*sources, *sorted(asked_for)):
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
    # Looked at before the store is asked: what another bridge lays there after it has taken this lane over is then
    # never taken for a leftover, however long this one stands still between the two.
    lying = leftovers(lane)
    with bridge.store.transaction() as tx:
        intended = tx.deliveries(device_id)
    named = {delivery.temporary_name: delivery for delivery in intended}  # the members of a gang share one
    passed_over = set()
    for temporary_name in lying:
        delivery = named.get(temporary_name)
        if delivery is not None and _artwork_may_lie_elsewhere(bridge, delivery):
            passed_over.add(temporary_name)
        elif delivery is not None:
            hand_over(_hold_of(delivery, lane))
        else:
            withdraw(lane, temporary_name)
    open_ones = [
        delivery.queue_entry_id
        for delivery in intended
        if not delivery.delivered and delivery.temporary_name not in passed_over
    ]
    if open_ones:
        with bridge.store.transaction() as tx:
            tx.mark_delivered(open_ones)


def _artwork_may_lie_elsewhere(bridge: Bridge, delivery: Delivery) -> bool:
    """Whether the source of a job hangs: artwork that came alone may not lie yet where its ticket says.

    Such a ticket goes when the source answers again, which proves every lane anew. Nobody else waits for it.
    """
    with bridge.store.transaction() as tx:
        source_id = tx.standing(delivery.queue_entry_id).source
    return lease_name(SOURCE, source_id) in bridge.hanging


def _hold_of(delivery: Delivery, lane: LanePlaces) -> Hold:
    return Hold(
        delivery.queue_entry_id,
        delivery.device_id,
        lane.tickets,
        delivery.temporary_name,
        delivery.final_name,
        (delivery.queue_entry_id,),
    )


def move_out_known(bridge: Bridge, source_id: str, but_of_run: str = "") -> None:
    """Files claimed by an earlier run that the store knows go where it says."""
    for claimed in _found_claimed(bridge, source_id, but_of_run):
        with bridge.store.transaction() as tx:
            place, findings = tx.intake_outcome(claimed.claim_id)
        if place is not None:
            try:
                move_out(bridge, claimed, place, findings)
            except ShareHangs as error:
                bridge.put_off_source(source_id, error)
                return


def rescue_claims(bridge: Bridge, source_id: str, *, count: bool, but_of_run: str = "") -> None:
    """Files claimed by an earlier run that the store does not know are taken in one by one.

    A newer file may have been taken meanwhile, so each counts as one that waited. A source whose folder is
    not there is asked again later and keeps nobody else waiting.

    Args:
        bridge: The bridge.
        source_id: The source.
        count: Whether this is one more attempt on each.
        but_of_run: Pass over what this run claimed, which is in hand.
    """
    move_out_known(bridge, source_id, but_of_run)
    claimer = Claimer(source_id, bridge.source_places(source_id))
    for claimed in _found_claimed(bridge, source_id, but_of_run):
        mine = claimer.count_attempt(claimed) if count else claimed
        attempts = split_attempts(mine.claim_id)[1]
        try:
            if attempts > MOST_ATTEMPTS:
                set_aside(bridge, mine, attempts - 1)
            else:
                for left in accept(bridge, [replace(mine, waited=True)]):
                    accept(bridge, [left])
        except ShareHangs as error:  # the next file may not need that share
            bridge.put_off_source(source_id, error)
            bridge.strayed = True  # the store may have it already, and tickets that lie ready at other lanes


def mind_shares(bridge: Bridge, hanging: Mapping[str, ShareHangs]) -> None:
    """Set aside what a share serves that does not answer, and prove everything anew when one answers again.

    What was asked of it meanwhile has happened by then, or never will, so the evidence is to be trusted again.

    Args:
        bridge: The bridge.
        hanging: The shares that do not answer now.
    """
    for share in sorted(hanging.keys() - bridge.hanging):
        finding = Finding("share.hangs", facts={"share": share, "reason": str(hanging[share])})
        bridge.notice(finding.code, sentence=sentence(finding), remedy=remedy(finding), **finding.facts)
    answering = bridge.hanging - hanging.keys()
    bridge.hanging = frozenset(hanging)
    bridge.unfinished_lanes |= {name for name in bridge.my_lanes if bridge.lane_hangs(name)}
    for share in sorted(answering):
        bridge.notice("share.answers", share=share)
    if answering:
        bridge.plan_is_old = True
        rescue(bridge, crashed=False)


def _found_claimed(bridge: Bridge, source_id: str, but_of_run: str) -> list[Claimed]:
    """What lies claimed at a source and is ours to put right; nothing, and a note of it, where its folder is away."""
    places = bridge.source_places(source_id)
    try:
        durable.require_ready(places.claimed)
        found = Claimer(source_id, places).found_claimed()
    except (OSError, durable.PlaceNotReady) as error:
        bridge.source_is_gone(source_id, error)
        return []
    bridge.unfinished_sources.discard(source_id)
    if not found or bridge.share.names is None:
        return found
    with bridge.store.transaction() as tx:
        alive = {seat.bridge_id.rpartition("-")[2] for seat in tx.bridges()[0]} - {THIS_RUN}
    return [
        one for one in found if bridge_run_of(one.claim_id) != but_of_run and _is_ours(bridge, one, alive)
    ]


def _is_ours(bridge: Bridge, claimed: Claimed, alive: Collection[str]) -> bool:
    """Whether a claimed file is for this bridge to put right.

    What was dropped is for who serves its source now. What came by message is in the hand of the bridge that was
    asked for as long as that one may write; one that was struck out never commits it any more.

    Args:
        bridge: The bridge.
        claimed: The file.
        alive: Runs of the other bridges that may still write.
    """
    run = bridge_run_of(claimed.claim_id)
    if is_submitted(claimed.claim_id) and run in alive:
        return False
    return claimed.source_id in bridge.my_sources or (is_submitted(claimed.claim_id) and run == THIS_RUN)


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
        world, mine = read_world(bridge, tx), bridge.my_lanes
        shelf = world.shelf
        crew = bridge.shop.settings.on_shift(bridge.now())
        for standing in tx.waiting_jobs():
            if standing.device_id not in mine:
                continue
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
