"""The bridge as a running service: built here, started in order, stopped in order."""

import fcntl
import os
import signal
import sys
import threading
from pathlib import Path
from typing import IO

from ticketbridge import __version__
from ticketbridge.config.folders import check_folders
from ticketbridge.config.load import ConfigRefused, LoadedShop, load_shop
from ticketbridge.daemon import clock, logs, systemd
from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.channel_loop import ChannelLoop
from ticketbridge.daemon.flow_loop import FlowLoop, disk_threads
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.intake_loop import IntakeLoop
from ticketbridge.daemon.lane_loop import LaneLoop
from ticketbridge.flow.bridge import Bridge, ShopFaulty
from ticketbridge.flow.reporting import FOLDER, HTTP
from ticketbridge.flow.rescue import rescue
from ticketbridge.jdf.post import Poster
from ticketbridge.model.codes import sentence
from ticketbridge.model.retry import ChannelRules
from ticketbridge.model.shop import Shop, Source
from ticketbridge.report.send import FolderSender, HttpSender
from ticketbridge.spool import durable
from ticketbridge.spool.exchanges import Exchanges
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import Store, open_store

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
            reload=lambda: _reload(places.folder),
        )
        self._flow = FlowLoop(self._bridge, self._wake_channels, self._notices, self._heartbeats)
        self._channels = [loop for source in shop.settings.sources for loop in self._channel_loops(source)]
        self._listeners: list[IntakeLoop | LaneLoop] = [
            IntakeLoop(
                source,
                places.source(source.folder),
                shop.settings.limits,
                self._flow.claimed,
                self._flow.wake,
                self._notices,
                self._heartbeats,
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

    def run(self, *, stop_at_eof: bool) -> None:
        """Rescue, start, turn, stop. Signals TERM and INT end it in order."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: self._flow.stop())
        if stop_at_eof:
            threading.Thread(target=self._stop_at_eof, daemon=True).start()
        rescue(self._bridge, crashed=True)
        self._heartbeats.beat("flow")
        for loop in (*self._channels, *self._listeners):
            self._heartbeats.beat(loop.name)  # so that one that hangs in its first turn is missed, too
            loop.start()
        threading.Thread(target=self._tell_systemd, daemon=True).start()
        self._notices.tell("ready", sources=len(self._bridge.sources), lanes=len(self._bridge.lanes))
        systemd.notify("READY=1", f"STATUS={len(self._bridge.lanes)} lanes, watching")
        self._flow.run()
        self._stop()

    def _stop(self) -> None:
        systemd.notify("STOPPING=1")
        for loop in (*self._listeners, *self._channels):
            loop.stop()
        until_s = clock.monotonic() + STOP_S
        for loop in (*self._listeners, *self._channels):
            loop.join(max(0.0, until_s - clock.monotonic()))
        self._disk.shutdown()
        self._notices.tell("stopped")

    def _channel_loops(self, source: Source) -> list[ChannelLoop]:
        places = self._bridge.places.source(source.folder)
        made = [self._channel_loop(f"{source.id}.{FOLDER}", FolderSender(places.status))]
        if source.status_url:
            channel = f"{source.id}.{HTTP}"
            poster = Poster(source.status_url, channel, self._exchanges.note)
            made.append(self._channel_loop(channel, HttpSender(poster)))
        return made

    def _channel_loop(self, channel: str, sender: FolderSender | HttpSender) -> ChannelLoop:
        rules = ChannelRules(give_up_days=self._bridge.shop.settings.signal_give_up_days)
        clocks = Clocks(clock.now, clock.monotonic)
        made = Channel(channel, sender, self._bridge.store, rules, self._notices, clocks)
        return ChannelLoop(made, self._heartbeats)

    def _wake_channels(self) -> None:
        for loop in self._channels:
            loop.wake()

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


def _reload(folder: Path) -> Shop:
    try:
        return load_shop(folder).shop
    except ConfigRefused as refusal:
        first = refusal.findings[0]
        raise ShopFaulty(f"{first.place}: {sentence(first)}") from refusal


def _lock(path: Path) -> IO[str]:
    """Hold the shop folder for this process; the lock goes with the process, however it ends."""
    file = path.open("a")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        file.close()
        raise AlreadyRunning(f"another bridge runs on this shop folder: it holds {path}") from error
    return file
