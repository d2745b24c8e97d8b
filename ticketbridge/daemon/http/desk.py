"""What the HTTP edge needs of the bridge: a view to ask, the flow to have things done, a way in for tickets."""

import itertools
import secrets
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, field
from functools import partial
from queue import Full, Queue
from typing import Any, Final

from ticketbridge.accept.claim import Claimed, Claimer, split_attempts
from ticketbridge.accept.submitted import RESUBMITTED, SUBMITTED, lay_down
from ticketbridge.answer.queue_filter import QueueFilter
from ticketbridge.answer.world import World
from ticketbridge.daemon import clock
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.asking import world_for
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.model.jmf_partner import JmfEndpoint, JmfSender
from ticketbridge.model.submission import Submission
from ticketbridge.spool import durable
from ticketbridge.store.store import Store

FRESH_S: Final = 1.0
"""So long what was seen may be shown again, while this bridge commits nothing; another one on the store might."""
MOST_WORLDS: Final = 64
STOPPING: Final = "the bridge is being stopped"


class Busy(Exception):
    """The flow has more before it than it should; nothing was taken."""


@dataclass
class Desk:
    """The bridge, seen from the HTTP edge.

    Attributes:
        settings: What was configured.
        bridge: For what never changes while it runs: the shop, places, the clock.
        view: A read-only view of the store, for queries.
        do: Has something done in the thread that moves jobs.
        inbox: Where claimed files go.
        wake: Tells the flow that there is something.
        notices: The log.
    """

    settings: JmfEndpoint
    bridge: Bridge
    view: Store
    do: Callable[[Callable[[Bridge], Any]], "Future[Any]"]
    inbox: "Queue[Claimed]"
    wake: Callable[[], None]
    notices: Notices
    _claimers: dict[tuple[str, str], Claimer] = field(default_factory=dict)
    _worlds: dict[tuple[object, ...], tuple[int, float, World]] = field(default_factory=dict)
    _awaited: "set[Future[Any]]" = field(default_factory=set)
    _ended: bool = False
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _numbers: Iterator[int] = field(default_factory=itertools.count)
    _run: str = field(default_factory=lambda: secrets.token_hex(3))

    def world(self, sender: JmfSender, device_id: str | None, entries: QueueFilter) -> World:
        """What this sender may see now. The same question, while nothing was committed, needs no second look."""
        seen = self.seen(sender, device_id, entries)
        if seen is not None:
            return seen
        commits, now_s = self.bridge.store.commits, clock.monotonic()
        with self.view.transaction() as tx:
            world = world_for(self.bridge, tx, sender, device_id, entries)
        with self._lock:
            if len(self._worlds) >= MOST_WORLDS:
                self._worlds.clear()
            self._worlds[_key(sender, device_id, entries)] = (commits, now_s, world)
        return world

    def seen(self, sender: JmfSender, device_id: str | None, entries: QueueFilter) -> World | None:
        """What was seen before and is still so; None where it is time to look."""
        with self._lock:
            seen = self._worlds.get(_key(sender, device_id, entries))
        if seen is None or seen[0] != self.bridge.store.commits or clock.monotonic() - seen[1] >= FRESH_S:
            return None
        return seen[2]

    def fresh_id(self) -> str:
        """An ID that no other answer has, fit for xs:ID."""
        with self._lock:
            return f"R{self._run}-{next(self._numbers)}"

    def require_room(self) -> None:
        """Prove that one more ticket would be looked at soon.

        Raises:
            Busy: It would not.
        """
        if self.inbox.full():
            raise Busy

    def hand_in(
        self, source_id: str, name: str, ticket: bytes, submission: Submission
    ) -> "Future[Submitted]":
        """Lay a ticket down and hand it to the flow; what becomes of it comes later.

        Raises:
            Busy: The flow has enough before it.
            OSError: The disk does not take it.
            PlaceNotReady: The source's folders are not there.
        """
        places = self.bridge.source_places(source_id)
        durable.require_ready(places.claimed)
        run = SUBMITTED if submission.resubmits is None else RESUBMITTED
        with self._lock:
            if (source_id, run) not in self._claimers:
                self._claimers[source_id, run] = Claimer(source_id, places, run)
            claimed = self._claimers[source_id, run].name(name, self.bridge.now())
        outcome: Future[Submitted] = Future()
        self._await(outcome)
        self.bridge.awaited[split_attempts(claimed.claim_id)[0]] = partial(_tell, outcome)
        lay_down(claimed, ticket, submission)
        try:
            self.inbox.put(claimed, timeout=self.settings.limits.answer_s)
        except Full as error:  # it lies among the claimed files, and the next start takes it in
            raise Busy from error
        self.wake()
        return outcome

    def ask(self, work: Callable[[Bridge], Any]) -> "Future[Any]":
        """Have something done in the thread that moves jobs.

        Raises:
            Busy: That has ended.
        """
        answer = self.do(work)
        self._await(answer)
        return answer

    def give_up(self) -> None:
        """The flow has ended: who still waits for it is told to ask again, here or at another bridge."""
        self._ended = True
        for outcome in list(self._awaited):
            if outcome.set_running_or_notify_cancel():
                outcome.set_exception(Busy(STOPPING))

    def _await(self, outcome: "Future[Any]") -> None:
        self._awaited.add(outcome)
        outcome.add_done_callback(self._awaited.discard)
        if self._ended:
            outcome.cancel()
            raise Busy(STOPPING)


def _tell(outcome: "Future[Submitted]", submitted: Submitted) -> None:
    """Where nobody waits any more, as it took too long, the flow has nothing to do with that."""
    if outcome.set_running_or_notify_cancel():
        outcome.set_result(submitted)


def _key(sender: JmfSender, device_id: str | None, entries: QueueFilter) -> tuple[object, ...]:
    """What makes two questions look at the same."""
    return (
        sender.id,
        device_id,
        entries.queue_entry_ids,
        entries.job_id,
        entries.details == "None",
        entries.takings,
    )
