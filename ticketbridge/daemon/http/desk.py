"""What the HTTP edge needs of the bridge: a view to ask, the flow to have things done, a way in for tickets."""

import itertools
import secrets
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, field
from queue import Full, Queue
from typing import Any

from ticketbridge.accept.claim import Claimed, Claimer, split_attempts
from ticketbridge.accept.submitted import RESUBMITTED, SUBMITTED, lay_down
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.submissions import Submitted
from ticketbridge.model.jmf_partner import JmfEndpoint
from ticketbridge.model.submission import Submission
from ticketbridge.spool import durable
from ticketbridge.store.store import Store


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
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _numbers: Iterator[int] = field(default_factory=itertools.count)
    _run: str = field(default_factory=lambda: secrets.token_hex(3))

    def fresh_id(self) -> str:
        """An ID that no other answer has, fit for xs:ID."""
        with self._lock:
            return f"R{self._run}-{next(self._numbers)}"

    def hand_in(
        self, source_id: str, name: str, ticket: bytes, submission: Submission
    ) -> "Future[Submitted]":
        """Lay a ticket down and hand it to the flow; what becomes of it comes later.

        Raises:
            Busy: The flow has enough before it.
            OSError: The disk does not take it.
            PlaceNotReady: The source's folders are not there.
        """
        if self.inbox.full():
            raise Busy
        places = self.bridge.source_places(source_id)
        durable.require_ready(places.claimed)
        run = SUBMITTED if submission.resubmits is None else RESUBMITTED
        with self._lock:
            if (source_id, run) not in self._claimers:
                self._claimers[source_id, run] = Claimer(source_id, places, run)
            claimed = self._claimers[source_id, run].name(name, self.bridge.now())
        outcome: Future[Submitted] = Future()
        self.bridge.awaited[split_attempts(claimed.claim_id)[0]] = outcome.set_result
        lay_down(claimed, ticket, submission)
        try:
            self.inbox.put(claimed, timeout=self.settings.limits.answer_s)
        except Full as error:  # it lies among the claimed files, and the next start takes it in
            raise Busy from error
        self.wake()
        return outcome
