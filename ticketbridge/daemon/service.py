"""The bridge as a running service: built here, started in order, stopped in order."""

import fcntl
import os
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import IO

from ticketbridge import __version__
from ticketbridge.accept.claim import THIS_RUN
from ticketbridge.accept.litter import kinds_taken
from ticketbridge.config.folders import check_folders
from ticketbridge.config.load import ConfigRefused, LoadedShop, load_shop
from ticketbridge.daemon import clock, logs, systemd
from ticketbridge.daemon.archive_loop import ArchiveLoop
from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.channel_loop import ChannelLoop
from ticketbridge.daemon.flow_loop import FlowLoop, disk_threads
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.http.desk import Desk
from ticketbridge.daemon.http.server import HttpLoop
from ticketbridge.daemon.intake_loop import IntakeLoop, full
from ticketbridge.daemon.lane_loop import LaneLoop
from ticketbridge.daemon.mapping_watch import MappingWatch
from ticketbridge.daemon.press_loop import PressLoop
from ticketbridge.daemon.returns import ReturnSender
from ticketbridge.daemon.serving import Ending, Loop, Serving, stop_all
from ticketbridge.daemon.shares import guard_shares
from ticketbridge.daemon.sharing import Sharing, join
from ticketbridge.daemon.stop_signals import on_stop_signals
from ticketbridge.extract.beside import Beside, keep_for_good, spare_processors
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.children import get_ready
from ticketbridge.flow.keep.rescue import rescue
from ticketbridge.flow.press.giving_back import returns_channel
from ticketbridge.flow.reporting import FOLDER, HTTP
from ticketbridge.jdf.post import Poster
from ticketbridge.model.codes import sentence
from ticketbridge.model.jmf_partner import JmfEndpoint
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.retry import ChannelMode, ChannelRules, RetryPolicy
from ticketbridge.model.share import LANE, REQUESTS, SOURCE, SUBSCRIBER, Share, lease_name
from ticketbridge.model.shop import Settings, Source
from ticketbridge.model.subscription import Subscription
from ticketbridge.report.send import FolderSender, HttpSender, Sender
from ticketbridge.spool import durable, gates
from ticketbridge.spool.exchanges import Exchanges
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.leases import Leases
from ticketbridge.store.store import Store, open_store, open_view

DEFAULT_RULES = ChannelRules()

STOP_S = 20.0
"""All loops together have so long to end; what they leave is found at the next start."""


class AlreadyRunning(Exception):
    """Another bridge holds this shop folder."""


class NobodyMaySpeak(Exception):
    """The bridge was told where to listen for JMF, and the shop says of nobody that he may speak."""


def run_service(folder: Path, *, stop_at_eof: bool, listen: tuple[str, int] | None = None) -> None:
    """Load the shop, start everything, turn until told to stop.

    Args:
        folder: The shop folder.
        stop_at_eof: Also stop when standard input closes, so that a program that started us takes us along.
        listen: Host and port for JMF, in the place of those that the shop has.

    Raises:
        NobodyMaySpeak: ``listen`` was given to a shop without a ``jmf`` section.
        ConfigRefused: The shop folder has faults; all of them are in it.
        AlreadyRunning: Another bridge runs on this folder.
        Fenced: Another bridge has taken over what this one served.
        StoreIsNewer: A newer bridge has changed the store.
        DriverMissing: The store is a PostgreSQL database, and its library is not installed.
        PlaceNotReady: The state folder is not there. A new store in its place would forget every ticket.
    """
    logs.configure()
    loaded = load_shop(folder)
    if listen is not None:
        loaded = at_another_place(loaded, *listen)
    places = ShopPlaces(folder.resolve())
    guard_shares(loaded, places)
    _prove_folders(loaded)
    durable.require_ready(places.state)
    for box in (places.requests, places.replies):
        box.mkdir(exist_ok=True)
    if isinstance(loaded.store, str):
        store, leases = join(loaded.store)
        with closing(store):
            Service(loaded, places, store, leases).run(stop_at_eof=stop_at_eof)
    else:
        with _lock(places.lock), closing(open_store(loaded.store)) as store:
            Service(loaded, places, store).run(stop_at_eof=stop_at_eof)
    if gates.hanging():
        os._exit(0)  # the interpreter would wait for threads that a share holds


def at_another_place(loaded: LoadedShop, host: str, port: int) -> LoadedShop:
    """The shop with another host and port for JMF.

    Raises:
        NobodyMaySpeak: It has no ``jmf`` section.
    """
    settings = loaded.shop.settings
    if settings.jmf is None:
        raise NobodyMaySpeak("--listen needs the jmf section of shop.yaml, which says who may speak")
    jmf = settings.jmf.model_copy(update={"host": host, "port": port})
    settings = settings.model_copy(update={"jmf": jmf})
    return replace(loaded, shop=loaded.shop.model_copy(update={"settings": settings}))


class Service:
    """All threads of one bridge."""

    def __init__(
        self, loaded: LoadedShop, places: ShopPlaces, store: Store, leases: Leases | None = None
    ) -> None:
        shop = loaded.shop
        self._notices = logs.Notices()
        self._heartbeats = Heartbeats(clock.monotonic)
        self._exchanges = Exchanges(places.exchanges, clock.now)
        self._disk = disk_threads()
        self._bridge = Bridge(
            shop=shop,
            store=store,
            places=places,
            now=clock.now,
            disk=self._disk,
            agent_version=__version__,
            notice=self._notices.tell,
            beside=Beside(spare_processors(), get_ready),
        )
        # A file server may make a file of a run that was killed only now: it is never taken for one of this run's.
        self._bridge.share = Share(writer=THIS_RUN)
        self._flow = FlowLoop(self._bridge, self._wake_talkers, self._notices, self._heartbeats)
        self._mappings = MappingWatch(loaded, self._bridge, self._take_what_mappings_read, self._notices)
        self._bridge.reload, self._flow.before_turn = self._mappings.load_and_keep, self._before_turn
        self._subscribers: dict[tuple[str, str], ChannelLoop] = {}
        self._leaving: list[ChannelLoop] = []
        jmf = shop.settings.jmf
        self._http = None if jmf is None else self._http_loop(jmf, open_view(loaded.store))
        self._archive = ArchiveLoop(
            self._bridge, open_view(loaded.store), self._flow.do, self._notices, self._heartbeats
        )
        makers: dict[str, Callable[[], Sequence[Loop]]] = {}
        for source in shop.settings.sources:
            makers[lease_name(SOURCE, source.id)] = partial(self._intake_loops, source)
        for channel, sender in self._senders(shop.settings).items():
            makers[lease_name(SUBSCRIBER, channel)] = partial(self._channel_loops, channel, sender)
        for device_id, (press, lane) in shop.lanes().items():
            makers[lease_name(LANE, device_id)] = partial(self._lane_loops, device_id, press, lane)
        self._serving = Serving(makers, self._heartbeats)
        self._sharing: Sharing | None = None
        if leases is not None:
            self._sharing = Sharing(
                self._bridge,
                self._serving,
                leases,
                str(loaded.store),
                self._flow.end_with,
                self._wake,
                self._notices,
            )

    def _before_turn(self) -> None:
        self._mappings.look()
        if self._sharing is not None:
            self._sharing.settle()

    def _take_what_mappings_read(self) -> None:
        for loop in self._serving.loops:
            if isinstance(loop, IntakeLoop):
                source = self._bridge.sources[loop.source_id]
                loop.take(kinds_taken(source, self._bridge.shop.mappings[source.mapping]))

    def run(self, *, stop_at_eof: bool) -> None:
        """Rescue, start, turn, stop. Signals TERM and INT end it in order."""
        on_stop_signals(self._flow.stop)
        if stop_at_eof:
            threading.Thread(target=self._stop_at_eof, daemon=True).start()
        if self._sharing is None:
            rescue(self._bridge, crashed=True)
            self._serving.start(self._serving.names)
        else:
            self._sharing.start()
        self._heartbeats.beat("flow")
        self._keep_subscribers()
        if self._http is not None:
            self._heartbeats.beat(self._http.name)
            self._http.start()
        self._archive.start()
        threading.Thread(target=self._tell_systemd, daemon=True).start()
        lanes = len(self._bridge.my_lanes)
        self._notices.tell("ready", sources=len(self._bridge.my_sources), lanes=lanes)
        systemd.notify("READY=1", f"STATUS={lanes} lanes, watching")
        keep_for_good()
        try:
            self._flow.run()
        finally:
            self._stop()

    def _stop(self) -> None:
        systemd.notify("STOPPING=1")
        others: list[Ending] = [self._archive, *self._subscribers.values()]
        if self._http is not None:
            others.append(self._http)
        stop_all([*others, *self._serving.loops], STOP_S)
        if self._sharing is not None:
            self._sharing.stop()
        self._bridge.copying.stop()
        self._disk.shutdown()
        self._bridge.beside.close()
        self._notices.tell("stopped")

    def _http_loop(self, settings: JmfEndpoint, view: Store) -> HttpLoop:
        desk = Desk(
            settings=settings,
            bridge=self._bridge,
            view=view,
            do=self._flow.do,
            inbox=self._flow.claimed,
            wake=self._flow.wake,
            notices=self._notices,
        )
        return HttpLoop(desk, self._bridge.places.folder, self._heartbeats)

    def _intake_loops(self, source: Source) -> list[Loop]:
        shop = self._bridge.shop
        return [
            IntakeLoop(
                source,
                self._bridge.places.source(source.folder),
                shop.settings.limits,
                self._flow.claimed,
                self._flow.wake,
                self._notices,
                self._heartbeats,
                kinds_taken(source, shop.mappings[source.mapping]),
                partial(self._hindrance, source),
            )
        ]

    def _lane_loops(self, device_id: str, press: Press, lane: Lane) -> list[Loop]:
        loops: list[Loop] = [
            LaneLoop(
                device_id,
                self._bridge.places.lane(lane.folder),
                self._flow.from_presses,
                self._flow.wake,
                self._notices,
                self._heartbeats,
            )
        ]
        if press.jmf is not None:
            loops.append(
                PressLoop(
                    self._bridge,
                    device_id,
                    press.jmf,
                    self._flow.from_presses,
                    self._flow.wake,
                    self._exchanges.note,
                    self._notices,
                    self._heartbeats,
                    Clocks(clock.now, clock.monotonic),
                )
            )
        return loops

    def _hindrance(self, source: Source) -> str | None:
        """Why nothing may be claimed now. Asked by the thread of that source: a share that hangs holds only it."""
        places, keep_mb = self._bridge.places, self._bridge.shop.settings.keep_free_mb
        return (
            self._flow.hindrance()
            or (self._sharing.hindrance() if self._sharing else None)
            or full(places.state, keep_mb)
            or full(places.source(source.folder).folder, keep_mb)
        )

    def _senders(self, settings: Settings) -> dict[str, Callable[[], Sender]]:
        """How to make the way to each configured subscriber, by channel."""
        senders: dict[str, Callable[[], Sender]] = {}
        for source in settings.sources:
            status = self._bridge.places.source(source.folder).status
            senders[f"{source.id}.{FOLDER}"] = partial(FolderSender, status)
            if source.status_url:
                channel = f"{source.id}.{HTTP}"
                senders[channel] = partial(self._http_sender, source.status_url, channel)
        if settings.jmf is not None:
            for partner in settings.jmf.senders:
                if partner.source and partner.signal_urls:  # it may have its tickets back by message
                    name, store, note = returns_channel(partner), self._bridge.store, self._exchanges.note
                    senders[name] = partial(ReturnSender, name, settings.jmf, store, note)
        return senders

    def _http_sender(self, url: str, channel: str) -> HttpSender:
        return HttpSender(Poster(url, channel, self._exchanges.note))

    def _channel_loops(self, channel: str, sender: Callable[[], Sender]) -> list[Loop]:
        return [self._channel_loop(channel, sender())]

    def _channel_loop(self, channel: str, sender: Sender, said: ChannelRules = DEFAULT_RULES) -> ChannelLoop:
        rules = replace(said, give_up_days=self._bridge.shop.settings.signal_give_up_days)
        clocks = Clocks(clock.now, clock.monotonic)
        made = Channel(channel, sender, self._bridge.store, rules, self._notices, clocks)
        return ChannelLoop(made, self._heartbeats, self._notices)

    def _wake(self) -> None:
        """There may be something to do for every thread."""
        self._flow.wake()
        self._serving.wake()

    def _wake_talkers(self) -> None:
        self._keep_subscribers()
        for channel in self._subscribers.values():
            channel.wake()
        self._serving.wake()

    def _keep_subscribers(self) -> None:
        """A loop for each channel that was opened by message, and none for those that are closed.

        Of several bridges the one that answers requests serves them.
        """
        mine = self._bridge.subscriptions if self._bridge.share.has(REQUESTS) else ()
        wanted = {(one.channel, one.url): one for one in mine}
        for key in self._subscribers.keys() - wanted.keys():
            self._leaving.append(self._subscribers.pop(key))
            self._leaving[-1].stop()
        for loop in [one for one in self._leaving if not one.is_alive()]:
            self._leaving.remove(loop)
            self._heartbeats.forget(loop.name)
        for key in wanted.keys() - self._subscribers.keys():
            sender = self._http_sender(key[1], key[0])
            loop = self._channel_loop(key[0], sender, _rules(wanted[key]))
            self._subscribers[key] = loop
            self._heartbeats.beat(loop.name)
            loop.start()

    def _stop_at_eof(self) -> None:
        while os.read(sys.stdin.fileno(), 4096):
            pass
        self._flow.stop()

    def _tell_systemd(self) -> None:
        """The watchdog hears from us only while every loop makes progress."""
        interval_s = systemd.watchdog_interval_s()
        while interval_s is not None:
            late = self._heartbeats.late(gates.held_threads())
            if late:
                self._notices.failing("loops make no progress", loops=late)
            else:
                systemd.notify("WATCHDOG=1")
            threading.Event().wait(interval_s)


def _rules(subscription: Subscription) -> ChannelRules:
    """What a subscriber asked for."""
    mode = ChannelMode.RELIABLE if subscription.reliable else ChannelMode.FIRE_AND_FORGET
    return ChannelRules(mode, None if subscription.retry_for_ever else RetryPolicy.DISCARD_AT_NEXT_SIGNAL)


NEVER_START = frozenset({"config.store-on-network", "config.folders-on-two-devices", "config.folder-twice"})
"""Faults of folders that would break a promise. A folder that is only missing may be a share yet to be mounted."""


def _prove_folders(loaded: LoadedShop) -> None:
    findings = (*loaded.warnings, *check_folders(loaded, ask=gates.ask))
    grave = [finding for finding in findings if finding.code in NEVER_START]
    if grave:
        raise ConfigRefused(tuple(grave))
    notices = logs.Notices()
    for finding in findings:
        notices.tell(finding.code, place=str(finding.place), sentence=sentence(finding))


def _lock(path: Path) -> IO[str]:
    """Hold the shop folder for this process; the lock goes with the process, however it ends."""
    file = path.open("a")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        file.close()
        raise AlreadyRunning(f"another bridge runs on this shop folder: it holds {path}") from error
    return file
