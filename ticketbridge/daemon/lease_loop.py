"""One thread that keeps the leases of a bridge alive, strikes out dead bridges, and says what is ours to serve.

It only says so: the flow starts and stops what is served, between two of its turns (``Service.follow_leases``).
"""

import threading
from collections.abc import Callable, Sequence

from ticketbridge.daemon import clock
from ticketbridge.daemon.assign import assign
from ticketbridge.daemon.logs import Notices
from ticketbridge.store.leases import LASTS_S, Fenced, Leases
from ticketbridge.store.records import WorldFault

BEAT_S = 3.0
MARGIN_S = BEAT_S
"""So long before its time is over a bridge takes no more files: they could not be handed on in time."""


class LeaseLoop(threading.Thread):
    """Beats until stopped or struck out.

    Args:
        leases: Of this bridge, which has joined.
        names: Everything there is to serve.
        seen: Which of it this machine sees the folders of.
        wake: Called when what is ours has changed.
        fenced: Called when another bridge has struck this one out.
        notices: The log.
    """

    def __init__(
        self,
        leases: Leases,
        names: Sequence[str],
        seen: Callable[[], frozenset[str]],
        wake: Callable[[], None],
        fenced: Callable[[Fenced], None],
        notices: Notices,
    ) -> None:
        super().__init__(name="leases", daemon=True)
        self._leases = leases
        self._names = names
        self._seen = seen
        self._wake = wake
        self._fenced = fenced
        self._notices = notices
        self._stopping = threading.Event()
        self._sure_until_s = clock.monotonic() + LASTS_S - MARGIN_S
        self.held: frozenset[str] = frozenset()
        """What this bridge has the lease of."""
        self.wanted: frozenset[str] = frozenset()
        """What of it this bridge is to go on serving; the rest is to be stopped and then given up."""

    def run(self) -> None:
        """Beat until stopped."""
        while not self._stopping.is_set():
            try:
                self.beat()
                self._notices.well("the leases cannot be kept")
            except Fenced as error:
                self._fenced(error)
                return
            except WorldFault as error:
                self._notices.failing("the leases cannot be kept", reason=str(error))
            self._stopping.wait(BEAT_S)

    def stop(self) -> None:
        """End; what is held stays so until it is given up or runs out."""
        self._stopping.set()

    def is_sure(self) -> bool:
        """Whether no other bridge can have taken over yet, by a clock of our own that never jumps."""
        return clock.monotonic() < self._sure_until_s

    def beat(self) -> None:
        """One heartbeat, and a look at who is to serve what.

        Raises:
            Fenced: This bridge was struck out.
        """
        began_s = clock.monotonic()
        self._leases.beat(self._seen())
        self._sure_until_s = began_s + LASTS_S - MARGIN_S
        for bridge_id in self._leases.strike_out_dead():
            self._notices.tell("bridge.dead", bridge_id=bridge_id)
        self._leases.offer(self._names)
        seats, leases = self._leases.board()
        owners = {lease.name: lease.bridge_id for lease in leases}
        assigned = assign(self._names, {seat.bridge_id: seat.can_serve for seat in seats}, owners)
        mine = frozenset(name for name, bridge_id in assigned.items() if bridge_id == self._leases.bridge_id)
        held = frozenset(name for name, owner in owners.items() if owner == self._leases.bridge_id)
        free = [name for name in mine - held if owners.get(name) is None]
        taken = self._leases.take(free) if free else []
        before = (self.held, self.wanted)
        self.held, self.wanted = held | frozenset(taken), mine
        if before != (self.held, self.wanted):
            self._wake()
