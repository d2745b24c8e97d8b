"""One of several bridges: serves what it has the leases of, takes over what dead ones left, gives up what others want."""

import os
import socket
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from ticketbridge import __version__
from ticketbridge.accept.claim import THIS_RUN
from ticketbridge.daemon import clock
from ticketbridge.daemon.folder_look import FolderLook
from ticketbridge.daemon.hint_loop import HintLoop
from ticketbridge.daemon.lease_loop import LeaseLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.daemon.serving import Serving
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.keep.rescue import rescue, rescue_claims
from ticketbridge.flow.roll_account import fill_stock
from ticketbridge.model.share import LANE, REQUESTS, SOURCE, SUBSCRIBER, Share, lease_name
from ticketbridge.store.leases import Fenced, Leases
from ticketbridge.store.records import WorldFault
from ticketbridge.store.store import Store, open_shared_store

FIRST_LOOK_S = 3.0
"""How long the first look at the folders is waited for; what is not seen by then is served later."""
SWEEP_S = 10.0
"""A file that a dead bridge claimed at its last moment is found within so long."""


def join(address: str) -> tuple[Store, Leases]:
    """The shared store, as a bridge under a new name.

    Raises:
        StoreIsNewer: A newer bridge has changed it.
        DriverMissing: The library for PostgreSQL is not installed.
        OperationalError: The database does not answer.
    """
    host = socket.gethostname()
    store, leases = open_shared_store(address, f"{host[:100]}-{THIS_RUN}")
    leases.join(host, os.getpid(), __version__)
    return store, leases


def folders_of(bridge: Bridge, serving: Serving) -> dict[str, Sequence[Path]]:
    """What a machine must see to serve each thing."""
    found: dict[str, Sequence[Path]] = dict.fromkeys(serving.names, ())
    for source_id, source in bridge.sources.items():
        places = bridge.places.source(source.folder)
        found[lease_name(SOURCE, source_id)] = places.all()
        for name in serving.names:
            if name.startswith(lease_name(SUBSCRIBER, f"{source_id}.")):
                found[name] = (places.status,)
    for device_id, (_, lane) in bridge.lanes.items():
        found[lease_name(LANE, device_id)] = bridge.places.lane(lane.folder).all()
    found[REQUESTS] = (bridge.places.state,)
    return {name: folders for name, folders in found.items() if name in serving.names or name == REQUESTS}


class Sharing:
    """Keeps what runs in step with the leases. ``settle`` is for the thread that moves jobs, between two turns."""

    def __init__(
        self,
        bridge: Bridge,
        serving: Serving,
        leases: Leases,
        address: str,
        fenced: Callable[[Fenced], None],
        wake: Callable[[], None],
        notices: Notices,
    ) -> None:
        folders: Mapping[str, Sequence[Path]] = folders_of(bridge, serving)
        self._bridge = bridge
        self._serving = serving
        self._leases = leases
        self._notices = notices
        self._look = FolderLook(folders)
        self._beats = LeaseLoop(leases, sorted(folders), lambda: self._look.seen, wake, fenced, notices)
        self._hints = HintLoop(address, leases.bridge_id, wake, notices)
        self._swept_s = clock.monotonic()
        bridge.share = Share(frozenset(), leases.bridge_id)

    def start(self) -> None:
        """See what is there, and begin to serve what is ours."""
        self._look.start()
        self._look.first.wait(FIRST_LOOK_S)
        fill_stock(self._bridge)
        self._beats.beat()
        self.settle()
        self._beats.start()
        self._hints.start()

    def settle(self) -> None:
        """Stop what is no longer ours, then give it up; put right and start what has become ours."""
        held, wanted = self._beats.held, self._beats.wanted
        serve = held & wanted
        self._serving.stop(self._serving.running - serve)
        self._bridge.share = Share(serve, self._leases.bridge_id)
        done = held - wanted - self._serving.running
        if done:
            self._leases.give_up(done)
        gained = (serve & self._serving.names) - self._serving.running
        if gained:
            self._notices.tell("serves", names=sorted(gained))
            rescue(self._bridge, crashed=True, only=Share(gained))
            self._serving.start(gained)
        self._bridge.read_queues()
        if clock.monotonic() - self._swept_s > SWEEP_S:
            self._swept_s = clock.monotonic()
            for source_id in self._bridge.my_sources:
                rescue_claims(self._bridge, source_id, count=False, but_of_run=THIS_RUN)

    def hindrance(self) -> str | None:
        """Why nothing may be claimed now."""
        if self._beats.is_sure():
            return None
        return "the store was not heard of for so long that another bridge may serve this folder by now"

    def stop(self) -> None:
        """Leave in order, after everything that was served has ended: others need not wait for us to be missed."""
        self._look.stop()
        self._hints.stop()
        self._beats.stop()
        self._beats.join(5)
        try:
            self._leases.leave()
        except WorldFault as error:
            self._notices.failing("the leases cannot be given up", reason=str(error))
        self._leases.close()
