"""One thread for each lane of a press that speaks JMF; one that is off slows nobody."""

import threading
from collections.abc import Callable
from queue import Queue
from typing import Final

from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.daemon.press_line import CommandSender, PressLine
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.following import PressFile
from ticketbridge.flow.press.passing_on import letterhead, press_channel
from ticketbridge.flow.press.press_answers import FromPress, Handed
from ticketbridge.jdf.post import Poster
from ticketbridge.model.exchange import Exchange
from ticketbridge.model.press_link import PressLink
from ticketbridge.model.retry import ChannelRules
from ticketbridge.spool.gates import be_patient
from ticketbridge.store.leases import Fenced
from ticketbridge.store.records import WorldFault

TURN_S: Final = 0.5
"""The press is looked after at least this often."""


class PressLoop(threading.Thread):
    """Turns the talk with one lane until stopped."""

    def __init__(
        self,
        bridge: Bridge,
        device_id: str,
        link: PressLink,
        inbox: "Queue[Handed | PressFile]",
        wake: Callable[[], None],
        note: Callable[[Exchange], None],
        notices: Notices,
        heartbeats: Heartbeats,
        clocks: Clocks,
    ) -> None:
        super().__init__(name=f"press {device_id}", daemon=True)
        self._inbox = inbox
        self._wake = wake
        self._heartbeats = heartbeats
        self._notices = notices
        self._stopping = threading.Event()
        self._awake = threading.Event()
        channel = press_channel(device_id)
        poster = Poster(link.url, channel, note, patience_s=link.patience_s)
        rules = ChannelRules(give_up_days=bridge.shop.settings.signal_give_up_days)
        sender = CommandSender(device_id, poster, self._hand)
        self._line = PressLine(
            head=letterhead(bridge, device_id),
            link=link,
            tickets=bridge.lane_places(device_id).tickets,
            store=bridge.store,
            poster=poster,
            commands=Channel(channel, sender, bridge.store, rules, notices, clocks),
            hand=self._hand,
            beat=lambda: heartbeats.beat(self.name),
            notices=notices,
            clocks=clocks,
        )

    def run(self) -> None:
        """Until stopped."""
        be_patient()
        while not self._stopping.is_set():
            self._awake.clear()
            try:
                more = self._line.turn()
                self._notices.well(f"{self.name} has no store")
            except (*WorldFault, Fenced) as error:  # disk full, database away: the store remembers
                self._notices.failing(f"{self.name} has no store", reason=str(error))
                more = False
            self._heartbeats.beat(self.name)
            if not more:
                self._awake.wait(TURN_S)
        self._line.close()

    def wake(self) -> None:
        """There may be a ticket or a command for the press."""
        self._awake.set()

    def stop(self) -> None:
        """End after the exchange in hand; what it did not settle, the press is asked about at the next start."""
        self._stopping.set()
        self._awake.set()

    def _hand(self, item: FromPress) -> bool:
        """Give it to the flow and wait until it is in the store."""
        over = threading.Event()
        told: list[bool] = []

        def done(well: bool) -> None:
            told.append(well)
            over.set()

        self._inbox.put(Handed(item, done))
        self._wake()
        while not over.wait(1.0):
            if self._stopping.is_set():
                return False
            self._heartbeats.beat(self.name)
        return told[0]
