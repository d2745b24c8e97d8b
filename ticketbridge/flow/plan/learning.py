"""Actuals into the store, and what they teach back into the estimates."""

from collections.abc import Iterable
from datetime import datetime

from ticketbridge.decide.estimate.learning import learn
from ticketbridge.decide.estimate.time import Image, step_seconds_on
from ticketbridge.flow.bridge import Bridge
from ticketbridge.hand_over.read_actuals import Took, read_took
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import sentence
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, type_of_fact
from ticketbridge.model.job import Job, Standing
from ticketbridge.model.layout import Layout
from ticketbridge.model.layout import Run as GangRun
from ticketbridge.model.learned import NOTHING_LEARNED, Actual, Experience, Run
from ticketbridge.model.press import Lane
from ticketbridge.store.transaction import Transaction


def note_actual(bridge: Bridge, tx: Transaction, job: Standing, root: Element) -> None:
    """A press gave a finished job back: keep what it took, as a part of this transaction."""
    if tx.gang_of(job.queue_entry_id) is not None:
        return  # the time of a gang is nobody's own
    took = read_took(root)
    decided = tx.job(job.queue_entry_id)
    if not took.printing and took.ink_ml is None:
        return
    press, _ = bridge.lanes[job.device_id]
    estimate = decided.estimate
    actual = Actual(
        queue_entry_id=job.queue_entry_id,
        press=press.id,
        print_mode=job.print_mode,
        substrate=job.substrate,
        estimated_s=estimate.print_s / estimate.time_factor,
        actual_s=_alone_s(bridge, tx, decided, took) if took.printing else None,
        estimated_ml=sum(estimate.ink_ml.values()) / estimate.ink_factor,
        actual_ml=took.ink_ml,
    )
    tx.record_actual(actual, bridge.now())
    bridge.actuals_are_new = True


def learn_again(bridge: Bridge) -> bool:
    """Learn from all actuals, where there are new ones. True where it did; a change of a press is told once."""
    if not bridge.actuals_are_new:
        return False
    bridge.actuals_are_new = False
    first = bridge.experience is NOTHING_LEARNED  # what was before a start has been told
    before = bridge.experience.time.changed
    with bridge.store.transaction() as tx:
        bridge.experience = experience_of(tx.actuals())
        for press, (runs, by) in bridge.experience.time.changed.items():
            known = before.get(press)
            if first or (known is not None and runs >= known[0]):
                continue  # the same step, some prints later
            facts: dict[str, type_of_fact] = {
                "press": press,
                "runs": runs,
                "percent": round(100 * (by - 1), 1),
            }
            finding = Finding("estimates.changed", facts=facts)
            bridge.notice(finding.code, **facts, says=sentence(finding))
            tx.tell(Event(finding.code, bridge.now(), who=press, facts=facts))
    return True


def experience_of(actuals: Iterable[Actual]) -> Experience:
    """What prints teach about time and ink, the oldest first."""
    times, inks = [], []
    for one in actuals:
        if one.actual_s is not None:
            times.append(Run(one.press, one.print_mode, one.substrate, one.estimated_s, one.actual_s))
        if one.actual_ml is not None:
            inks.append(Run(one.press, one.print_mode, one.substrate, one.estimated_ml, one.actual_ml))
    return Experience(learn(times), learn(inks))


def _alone_s(bridge: Bridge, tx: Transaction, job: Job, took: Took) -> float:
    """What the print would have taken alone.

    While another lane prints too, the carriage travels further at each step; so that time counts by the ratio
    of the two steps: alone = time alone + time together x step alone / step together.
    """
    press, lane = bridge.lanes[job.device_id]
    mode = bridge.shop.print_modes.get(job.item.print_mode)
    total = sum((end - start).total_seconds() for start, end in took.printing)
    others = {other.device_id: other for other in press.lanes if other is not lane}
    if mode is None or not others:
        return total
    mine = _image(lane, job.layout)
    alone_step = step_seconds_on(press, mode, [mine])
    first, last = took.printing[0][0], took.printing[-1][1]
    gangs: set[str] = set()
    for neighbour in tx.jobs_meanwhile(others, first, last):
        gang = tx.gang_of(neighbour.queue_entry_id)
        if gang in gangs:
            continue  # the members of a gang are one print
        gangs |= {gang} if gang else set()
        members = tx.gang_members(gang) if gang else {}
        layout = GangRun(tuple(members.values())).whole if gang else tx.job(neighbour.queue_entry_id).layout
        theirs = _image(others[neighbour.device_id], layout)
        together = _overlap_s(took, neighbour.started_at or first, neighbour.ended_at or last)
        total -= together * (1 - alone_step / step_seconds_on(press, mode, [mine, theirs]))
    return max(total, 0.0)


def _overlap_s(took: Took, start: datetime, end: datetime) -> float:
    spans = ((min(until, end) - max(since, start)).total_seconds() for since, until in took.printing)
    return sum(max(0.0, span) for span in spans)


def _image(lane: Lane, layout: Layout) -> Image:
    left_mm = lane.left_mm + lane.margin_left_mm + layout.image_left_mm
    return Image(left_mm, layout.image_width_mm, layout.length_mm)
