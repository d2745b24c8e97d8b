"""The bridge as a running service: built here, started in order, stopped in order."""

import fcntl
import os
import signal
import sys
import threading
from dataclasses import replace
from pathlib import Path
from typing import IO

from ticketbridge import __version__
from ticketbridge.accept.litter import kinds_taken
from ticketbridge.config.folders import check_folders
from ticketbridge.config.load import ConfigRefused, LoadedShop, load_shop
from ticketbridge.daemon import clock, logs, systemd
from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.channel_loop import ChannelLoop
from ticketbridge.daemon.flow_loop import FlowLoop, disk_threads
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.http.desk import Desk
from ticketbridge.daemon.http.server import HttpLoop
from ticketbridge.daemon.intake_loop import IntakeLoop
from ticketbridge.daemon.lane_loop import LaneLoop
from ticketbridge.daemon.mapping_watch import MappingWatch
from ticketbridge.daemon.press_loop import PressLoop
from ticketbridge.daemon.returns import ReturnSender
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.giving_back import returns_channel
from ticketbridge.flow.reporting import FOLDER, HTTP
from ticketbridge.flow.rescue import rescue
from ticketbridge.jdf.post import Poster
from ticketbridge.model.codes import sentence
from ticketbridge.model.jmf_partner import JmfEndpoint
from ticketbridge.model.retry import ChannelMode, ChannelRules, RetryPolicy
from ticketbridge.model.shop import Source
from ticketbridge.model.subscription import Subscription
from ticketbridge.report.send import FolderSender, HttpSender, Sender
from ticketbridge.spool import durable
from ticketbridge.spool.exchanges import Exchanges
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import Store, open_store, open_view

DEFAULT_RULES = ChannelRules()

STOP_S = 20.0
"""All loops together have so long to end; what they leave is found at the next start."""


class AlreadyRunning(Exception):
    """Another bridge holds this shop folder."""


def run_service(folder: Path, *, stop_at_eof: bool) -> None:
    """Load the shop, start everything, turn until told to stop.

    Args:
        folder: The shop folder.
        stop_at_eof: Also stop when standard input closes, so that a program that started us takes us along.

    Raises:
        ConfigRefused: The shop folder has faults; all of them are in it.
        AlreadyRunning: Another bridge runs on this folder.
        PlaceNotReady: The state folder is not there. A new store in its place would forget every ticket.
    """
    logs.configure()
    loaded = load_shop(folder)
    _prove_folders(loaded)
    places = ShopPlaces(folder.resolve())
    durable.require_ready(places.state)
    with _lock(places.lock):
        for box in (places.requests, places.replies):
            box.mkdir(exist_ok=True)
        store = open_store(places.database)
        try:
            Service(loaded, places, store).run(stop_at_eof=stop_at_eof)
        finally:
            store.close()


class Service:
    """All threads of one bridge."""

    def __init__(self, loaded: LoadedShop, places: ShopPlaces, store: Store) -> None:
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
        )
        self._flow = FlowLoop(self._bridge, self._wake_talkers, self._notices, self._heartbeats)
        self._mappings = MappingWatch(loaded, self._bridge, self._take_what_mappings_read, self._notices)
        self._bridge.reload, self._flow.before_turn = self._mappings.load_and_keep, self._mappings.look
        self._channels = [loop for source in shop.settings.sources for loop in self._channel_loops(source)]
        self._channels += self._return_loops(shop.settings.jmf)
        self._subscribers: dict[tuple[str, str], ChannelLoop] = {}
        self._leaving: list[ChannelLoop] = []
        self._listeners: list[IntakeLoop | LaneLoop | HttpLoop] = [
            IntakeLoop(
                source,
                places.source(source.folder),
                shop.settings.limits,
                self._flow.claimed,
                self._flow.wake,
                self._notices,
                self._heartbeats,
                kinds_taken(source, shop.mappings[source.mapping]),
            )
            for source in shop.settings.sources
        ]
        self._listeners += [
            LaneLoop(
                device_id,
                places.lane(lane.folder),
                self._flow.from_presses,
                self._flow.wake,
                self._notices,
                self._heartbeats,
            )
            for device_id, (_, lane) in shop.lanes().items()
        ]
        self._presses = [
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
            for device_id, (press, _) in shop.lanes().items()
            if press.jmf is not None
        ]
        if shop.settings.jmf is not None:
            self._listeners.append(self._http_loop(shop.settings.jmf))

    def _take_what_mappings_read(self) -> None:
        for loop in self._listeners:
            if isinstance(loop, IntakeLoop):
                source = self._bridge.sources[loop.source_id]
                loop.take(kinds_taken(source, self._bridge.shop.mappings[source.mapping]))

    def run(self, *, stop_at_eof: bool) -> None:
        """Rescue, start, turn, stop. Signals TERM and INT end it in order."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: self._flow.stop())
        if stop_at_eof:
            threading.Thread(target=self._stop_at_eof, daemon=True).start()
        rescue(self._bridge, crashed=True)
        self._heartbeats.beat("flow")
        self._keep_subscribers()
        for loop in (*self._channels, *self._presses, *self._listeners):
            self._heartbeats.beat(loop.name)  # so that one that hangs in its first turn is missed, too
            loop.start()
        threading.Thread(target=self._tell_systemd, daemon=True).start()
        self._notices.tell("ready", sources=len(self._bridge.sources), lanes=len(self._bridge.lanes))
        systemd.notify("READY=1", f"STATUS={len(self._bridge.lanes)} lanes, watching")
        self._flow.run()
        self._stop()

    def _stop(self) -> None:
        systemd.notify("STOPPING=1")
        loops = (*self._listeners, *self._presses, *self._channels, *self._subscribers.values())
        for loop in loops:
            loop.stop()
        until_s = clock.monotonic() + STOP_S
        for loop in loops:
            loop.join(max(0.0, until_s - clock.monotonic()))
        self._bridge.copying.stop()
        self._disk.shutdown()
        self._notices.tell("stopped")

    def _http_loop(self, settings: JmfEndpoint) -> HttpLoop:
        desk = Desk(
            settings=settings,
            bridge=self._bridge,
            view=open_view(self._bridge.places.database),
            do=self._flow.do,
            inbox=self._flow.claimed,
            wake=self._flow.wake,
            notices=self._notices,
        )
        return HttpLoop(desk, self._bridge.places.folder, self._heartbeats)

    def _channel_loops(self, source: Source) -> list[ChannelLoop]:
        places = self._bridge.places.source(source.folder)
        made = [self._channel_loop(f"{source.id}.{FOLDER}", FolderSender(places.status))]
        if source.status_url:
            channel = f"{source.id}.{HTTP}"
            poster = Poster(source.status_url, channel, self._exchanges.note)
            made.append(self._channel_loop(channel, HttpSender(poster)))
        return made

    def _channel_loop(self, channel: str, sender: Sender, said: ChannelRules = DEFAULT_RULES) -> ChannelLoop:
        rules = replace(said, give_up_days=self._bridge.shop.settings.signal_give_up_days)
        clocks = Clocks(clock.now, clock.monotonic)
        made = Channel(channel, sender, self._bridge.store, rules, self._notices, clocks)
        return ChannelLoop(made, self._heartbeats)

    def _return_loops(self, endpoint: JmfEndpoint | None) -> list[ChannelLoop]:
        """One for each partner that submits by message and may have its tickets back that way."""
        if endpoint is None:
            return []
        channels = [returns_channel(one) for one in endpoint.senders if one.source and one.signal_urls]
        store, note = self._bridge.store, self._exchanges.note
        return [self._channel_loop(name, ReturnSender(name, endpoint, store, note)) for name in channels]

    def _wake_talkers(self) -> None:
        self._keep_subscribers()
        for channel in (*self._channels, *self._subscribers.values()):
            channel.wake()
        for press in self._presses:
            press.wake()

    def _keep_subscribers(self) -> None:
        """A loop for each channel that was opened by message, and none for those that are closed."""
        wanted = {(one.channel, one.url): one for one in self._bridge.subscriptions}
        for key in self._subscribers.keys() - wanted.keys():
            self._leaving.append(self._subscribers.pop(key))
            self._leaving[-1].stop()
        for loop in [one for one in self._leaving if not one.is_alive()]:
            self._leaving.remove(loop)
            self._heartbeats.forget(loop.name)
        for key in wanted.keys() - self._subscribers.keys():
            poster = Poster(key[1], key[0], self._exchanges.note)
            loop = self._channel_loop(key[0], HttpSender(poster), _rules(wanted[key]))
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
            late = self._heartbeats.late()
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
    findings = (*loaded.warnings, *check_folders(loaded))
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
