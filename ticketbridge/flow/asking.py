"""The world that queries are answered from, read in one go from the store; nothing is changed."""

from collections.abc import Mapping, Sequence

from ticketbridge.answer.queries import filter_of
from ticketbridge.answer.queue_filter import QueueFilter
from ticketbridge.answer.signals import state_question
from ticketbridge.answer.world import LaneNow, RollNow, Taking, World
from ticketbridge.decide.estimate.roll import level_of
from ticketbridge.decide.release import queue_order
from ticketbridge.flow.bridge import Bridge, rolls_on_lanes
from ticketbridge.hand_over.write_resources import media_attributes
from ticketbridge.model.jmf_partner import JmfSender
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import FINAL, State
from ticketbridge.model.press import Press
from ticketbridge.model.queue_state import OPEN
from ticketbridge.model.stock import Whereabouts
from ticketbridge.model.subscription import Subscription
from ticketbridge.model.substrate import Roll
from ticketbridge.model.used import USED, Use
from ticketbridge.store.records import QueueSize
from ticketbridge.store.transaction import Transaction


def world_for(
    bridge: Bridge, tx: Transaction, sender: JmfSender, device_id: str | None, entries: QueueFilter
) -> World:
    """What this sender may see.

    Args:
        bridge: The bridge; only what never changes while it runs is asked of it.
        tx: A transaction of a read-only view.
        sender: Who asks.
        device_id: The lane that the message is for; None means the bridge.
        entries: Which entries it asks for, so that a question about one job does not read the queue.
    """
    source_id = sender.source or ""
    jobs = _jobs(tx, source_id, entries)
    sizes, queues, stock = tx.queue_sizes(), tx.queue_states(), tx.stock()
    on_lanes = rolls_on_lanes(stock)
    running = {job.device_id: job for job in tx.running_jobs()}
    asked = [device_id] if device_id is not None else list(bridge.lanes)
    lanes = []
    for name in asked:
        press, lane = bridge.lanes[name]
        roll, runs = on_lanes.get(name), running.get(name)
        lanes.append(
            LaneNow(
                device_id=name,
                name=lane.name,
                press=press.name,
                jobs=tuple(sorted((job for job in jobs if job.device_id == name), key=_order)),
                size=sizes.get(name, QueueSize()).jobs,
                running=runs,
                queue=queues.get(name, OPEN),
                roll=None if roll is None else _roll_now(bridge, roll, press),
                inks=bridge.inks.get(name, ()),
                visible_run=runs if runs is not None and runs.source == source_id else None,
            )
        )
    any_press = next(iter(bridge.shop.presses.values()))
    return World(
        bridge_id=bridge.shop.settings.sender_id,
        addressed=device_id,
        lanes=tuple(lanes),
        most_entries=_most_entries(bridge),
        shelf=tuple(
            _roll_now(bridge, one.roll, any_press) for one in stock if one.where is Whereabouts.SHELF
        ),
        takings=tuple(_taking(bridge, tx, job) for job in _takers(source_id, jobs, running, entries)),
        subscriptions=tuple(one for one in tx.subscriptions() if one.partner == sender.id),
        ticket_schemes=ticket_schemes(sender),
    )


def world_of(bridge: Bridge, tx: Transaction, subscription: Subscription) -> World:
    """What the partner of an open channel may see of what it asked for."""
    jmf = bridge.shop.settings.jmf
    sender = next(one for one in (jmf.senders if jmf else ()) if one.id == subscription.partner)
    entries = filter_of(state_question(subscription))
    return world_for(bridge, tx, sender, subscription.device_id, entries)


def ticket_schemes(sender: JmfSender) -> tuple[str, ...]:
    """How this sender may name a ticket."""
    http = sorted({url.partition(":")[0] for url in sender.ticket_urls})
    return ("cid", *(["file"] if sender.ticket_folders else []), *http)


def _takers(
    source_id: str, jobs: Sequence[Standing], running: Mapping[str, Standing], entries: QueueFilter
) -> list[Standing]:
    """The entries whose resources are asked for: those that are named, else what runs of the asker's own."""
    if not entries.takings:
        return []
    if entries.names_something:
        return entries.chosen(jobs)
    return [job for job in running.values() if job.source == source_id]


def _taking(bridge: Bridge, tx: Transaction, standing: Standing) -> Taking:
    """What an entry takes: the latest that its press said of each kind, and the estimate it was accepted with."""
    job, used = tx.job(standing.queue_entry_id), {}
    for event in tx.history(standing.queue_entry_id):
        if event["what"] == USED:
            used[event["facts"]["resource"]] = tuple(Use(*one) for one in event["facts"]["uses"])
    substrate, (press, _) = bridge.shop.substrates.get(standing.substrate), bridge.lanes[standing.device_id]
    media = {} if substrate is None else media_attributes(substrate, press)
    estimate = job.estimate
    return Taking(standing, media, job.roll is not None, estimate.roll_area_m2, estimate.ink_ml, used)


def _most_entries(bridge: Bridge) -> int:
    jmf = bridge.shop.settings.jmf
    assert jmf is not None  # noqa: S101  whoever asks came that way
    return jmf.limits.queue_entries


def _jobs(tx: Transaction, source_id: str, entries: QueueFilter) -> Sequence[Standing]:
    if entries.queue_entry_ids:
        found = [tx.find_standing(name) for name in entries.queue_entry_ids]
        jobs = [job for job in found if job is not None and job.source == source_id]
    elif entries.job_id is not None:
        jobs = tx.jobs_named(source_id, entries.job_id)
    elif entries.details == "None":
        jobs = []
    else:
        return tx.queue_entries(source_id)
    return [job for job in jobs if job.listed and job.state is not State.REMOVED]


def _order(job: Standing) -> tuple[object, ...]:
    """What runs, what waits in the order in which it goes to the press, what is held, what has ended."""
    rank = (job.state in FINAL or job.state is State.PENDING_RETURN, job.state is State.HELD, not job.given)
    return (*rank, *queue_order(job))


def _roll_now(bridge: Bridge, roll: Roll, press: Press) -> RollNow:
    substrate = bridge.shop.substrates.get(roll.substrate)
    if substrate is None:
        return RollNow(roll, {"DescriptiveName": roll.substrate}, "OK")
    return RollNow(roll, media_attributes(substrate, press), level_of(roll, substrate))
