"""The one loop that moves jobs: takes what the others found, in groups, and turns the flow."""

import queue
import threading
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from queue import Queue
from typing import Any, TypeVar

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.submitted import is_submitted
from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.daemon.request_box import answer_requests
from ticketbridge.flow.bridge import DISK_THREADS, Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.reading import NOTHING_AHEAD, Ahead, read_ahead
from ticketbridge.flow.intake.waiting import wake
from ticketbridge.flow.keep.rescue import mind_shares, rescue, rescue_claims, rescue_lane
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.flow.plan.learning import learn_again
from ticketbridge.flow.plan.planning import plan_by_itself
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.flow.press.press_answers import Handed, take_handed
from ticketbridge.flow.reporting import send_states
from ticketbridge.model.share import LANE, REQUESTS, SOURCE
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import hanging
from ticketbridge.store.leases import Fenced
from ticketbridge.store.records import StateMoved, WorldFault

T = TypeVar("T")

GROUP = 128
"""Tickets that share their commits; more only makes the first of them wait."""
BATCHES_AHEAD = 2
"""With one, children have nothing to read while the thread that moves jobs commits and moves files."""
TURN_S = 0.5
"""The loop turns at least this often."""
SHORTEST_PAUSE_S = 0.5
LONGEST_PAUSE_S = 30.0


class FlowLoop:
    """Runs in the main thread of the service."""

    def __init__(
        self,
        bridge: Bridge,
        told: Callable[[], None],
        notices: Notices,
        heartbeats: Heartbeats,
        backlog: int = 1000,
    ) -> None:
        self.claimed: Queue[Claimed] = Queue(maxsize=backlog)
        self.from_presses: Queue[Handed | PressFile] = Queue()
        self._asked: Queue[Asked] = Queue()
        self._bridge = bridge
        self._told = told
        self._notices = notices
        self._heartbeats = heartbeats
        self._coming: deque[tuple[list[Claimed], Ahead]] = deque()
        self.before_turn: Callable[[], None] = lambda: None
        self._awake = threading.Event()
        self._stopping = threading.Event()
        self._pause_s = 0.0
        self._at_fault = False
        self._ended_by: Exception | None = None

    def do(self, work: Callable[[Bridge], Any]) -> "Future[Any]":
        """Have something done in the thread that moves jobs, and wait for what it gives back."""
        asked = Asked(work)
        self._asked.put(asked)
        self.wake()
        return asked.answer

    def wake(self) -> None:
        """There is something to do."""
        self._awake.set()

    def stop(self) -> None:
        """End after the turn in hand."""
        self._stopping.set()
        self._awake.set()

    def end_with(self, error: Exception) -> None:
        """End, and tell whoever runs this loop why."""
        self._ended_by = error
        self.stop()

    def hindrance(self) -> str | None:
        """Why nothing should be claimed now: what is claimed would only wait."""
        return "the flow stands still" if self._pause_s else None

    def run(self) -> None:
        """Turn until stopped.

        A fault of the world (disk full, database locked) pauses the work and is tried again for as long as it
        takes. A share that hangs pauses nothing: what was in hand is found again by its evidence, and what can go
        on does. A fault of ours counts as an attempt on the ticket in hand, so that after a few of them the
        ticket is set aside and the others go on.

        Raises:
            Fenced: Another bridge has taken over what this one served.
        """
        while not self._stopping.is_set():
            self._awake.clear()
            try:
                mind_shares(self._bridge, hanging())
                strayed, self._bridge.strayed = self._bridge.strayed, False
                if self._pause_s or strayed:
                    rescue(self._bridge, crashed=self._at_fault and not strayed)
                self.before_turn()
                self._turn()
                self._pause_s = 0.0
                self._notices.well("the flow stands still")
            except Fenced:
                raise
            except ShareHangs:
                self._bridge.strayed = True
            except (OSError, *WorldFault, durable.PlaceNotReady, StateMoved) as error:
                self._at_fault = False
                self._pause(str(error))
            except Exception as error:
                self._at_fault = True
                self._notices.broke("a step of the flow broke", error)
                self._pause(repr(error))
            self._heartbeats.beat("flow")
            if (
                not self._coming
                and self.claimed.empty()
                and self.from_presses.empty()
                and self._asked.empty()
            ):
                self._awake.wait(TURN_S)
        if self._ended_by is not None:
            raise self._ended_by

    def _turn(self) -> None:
        for device_id in sorted(self._bridge.unfinished_lanes & set(self._bridge.my_lanes)):
            rescue_lane(self._bridge, device_id)
        for source_id in sorted(self._bridge.unfinished_sources & set(self._bridge.my_sources)):
            if not self._bridge.is_put_off(source_id):
                rescue_claims(self._bridge, source_id, count=False)
        worked = accepted = False
        share = self._bridge.share  # what another bridge serves by now, it finds in its folder
        for _ in range(min(GROUP, self.from_presses.qsize())):
            # One by one: what a fault leaves here is taken in the next turn.
            item = self.from_presses.get_nowait()
            if isinstance(item, Handed):
                take_handed(self._bridge, item)
            elif share.has(LANE, item.device_id):
                follow(self._bridge, item)
            worked = True
        batch, ahead = self._next_batch()
        batch = [one for one in batch if share.has(SOURCE, one.source_id) or is_submitted(one.claim_id)]
        while batch:
            batch = accept(self._bridge, batch, ahead)
            accepted = True
        answered = answer_requests(self._bridge) if share.has(REQUESTS) else False
        for asked in _drain(self._asked, GROUP):
            asked.do(self._bridge)
            answered = True
        # Taking in has just looked at what may go; only an answered request can have changed that since.
        released = release_waiting(self._bridge) if answered or not accepted else False
        tells = share.has(REQUESTS)  # of several bridges one tells and plans for all
        signalled = send_states(self._bridge) if tells and self._bridge.subscriptions else False
        changed = worked or accepted or answered or released
        self._bridge.plan_is_old |= changed
        planned = learn_again(self._bridge) or (tells and plan_by_itself(self._bridge))
        if signalled or changed or planned:
            self._told()

    def _next_batch(self) -> tuple[list[Claimed], Ahead]:
        """What to take in now. Where still more waits, the batches behind it begin to be read."""
        batch, ahead = self._coming.popleft() if self._coming else ([], NOTHING_AHEAD)
        if not self._coming:
            batch = [*batch, *_drain(self.claimed, GROUP - len(batch))]
        if len(batch) == GROUP and self._bridge.beside.ready:
            while len(self._coming) < BATCHES_AHEAD and (more := _drain(self.claimed, GROUP)):
                self._coming.append((more, read_ahead(self._bridge, more)))
                if len(more) < GROUP:  # it may be filled up yet
                    break
        return [*wake(self._bridge), *batch], ahead

    def _pause(self, reason: str) -> None:
        # A rescue looks at these files, too.
        self._coming = deque((batch, NOTHING_AHEAD) for batch, _ in self._coming)
        self._notices.failing("the flow stands still", reason=reason)
        self._pause_s = min(max(2 * self._pause_s, SHORTEST_PAUSE_S), LONGEST_PAUSE_S)
        until_s = clock.monotonic() + self._pause_s
        while clock.monotonic() < until_s and not self._stopping.is_set():
            self._heartbeats.beat("flow")
            self._stopping.wait(0.2)


class Asked:
    """A piece of work that somebody waits for."""

    def __init__(self, work: Callable[[Bridge], Any]) -> None:
        self.answer: Future[Any] = Future()
        self._work = work

    def do(self, bridge: Bridge) -> None:
        """Do it. A fault of the world goes to whoever waits, and up: everything else has it, too.

        Raises:
            OSError: The disk cannot do it now.
            WorldFault: The database cannot do it now.
        """
        if not self.answer.set_running_or_notify_cancel():
            return
        try:
            done = self._work(bridge)
        except (OSError, *WorldFault) as error:
            self.answer.set_exception(error)
            raise
        except Exception as error:
            self.answer.set_exception(error)
        else:
            self.answer.set_result(done)


def _drain(waiting: "Queue[T]", most: int) -> "list[T]":
    found: list[T] = []
    while len(found) < most:
        try:
            found.append(waiting.get_nowait())
        except queue.Empty:
            break
    return found


def disk_threads() -> ThreadPoolExecutor:
    """Threads that wait for the disk."""
    return ThreadPoolExecutor(max_workers=DISK_THREADS, thread_name_prefix="disk")
