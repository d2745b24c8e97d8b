"""One subscriber: in order, the same bytes on each try, through outages and restarts."""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.unit.made import NOW
from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.channel_loop import ChannelLoop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.model.exchange import Outcome
from ticketbridge.model.retry import ChannelMode, ChannelRules, RetryPolicy
from ticketbridge.report.send import NotReceived
from ticketbridge.store.records import Message
from ticketbridge.store.store import Store, open_store

CHANNEL = "mis.http"


@dataclass
class Subscriber:
    """Takes what it is sent, or not."""

    down: Callable[[bytes], Outcome | None] = lambda _body: None
    got: list[bytes] = field(default_factory=list)
    tried: list[bytes] = field(default_factory=list)

    def send(self, body: bytes, _file_name: str) -> None:
        self.tried.append(body)
        outcome = self.down(body)
        if outcome is not None:
            raise NotReceived("down", outcome)
        self.got.append(body)

    def settle(self, file_names: Sequence[str]) -> None:
        pass

    def close(self) -> None:
        pass


@dataclass
class World:
    """A store, and a clock that stands until it is turned."""

    store: Store
    at: datetime = NOW

    def clocks(self) -> Clocks:
        return Clocks(lambda: self.at, self.elapsed_s)

    def elapsed_s(self) -> float:
        return (self.at - NOW).total_seconds()

    def pass_(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)

    def start(self, subscriber: Subscriber, rules: ChannelRules | None = None) -> Channel:
        """The channel as a new process would have it."""
        return Channel(CHANNEL, subscriber, self.store, rules or ChannelRules(), Notices(), self.clocks())

    def queue(self, *bodies: bytes, at: datetime | None = None) -> None:
        with self.store.transaction() as tx:
            for body in bodies:
                seq = tx.next_seq(CHANNEL)
                tx.queue_message(Message(CHANNEL, seq, body, f"{seq}.jmf", at or self.at))

    def drain(self, channel: Channel, most_s: float = 1e6) -> None:
        """Turn until nothing waits, letting the time pass that the channel wants to wait."""
        until = self.at + timedelta(seconds=most_s)
        while self.at <= until:
            turn = channel.turn()
            if not turn.more and not turn.failing_s:
                return
            self.pass_(turn.failing_s)


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    store = open_store(tmp_path / "bridge.sqlite")
    yield World(store)
    store.close()


def test_messages_arrive_in_order_and_are_marked(world: World) -> None:
    subscriber = Subscriber()
    world.queue(b"1", b"2", b"3")
    channel = world.start(subscriber)
    world.drain(channel)
    channel.close()

    assert subscriber.got == [b"1", b"2", b"3"]
    with world.store.transaction() as tx:
        assert tx.sent_up_to(CHANNEL) == 3


def test_a_subscriber_that_is_down_gets_the_same_bytes_again_and_nothing_overtakes(world: World) -> None:
    subscriber = Subscriber()
    subscriber.down = lambda _body: Outcome.NOT_REACHED if len(subscriber.tried) < 4 else None
    world.queue(b"1", b"2")
    world.drain(world.start(subscriber))

    assert subscriber.tried == [b"1", b"1", b"1", b"1", b"2"]


def test_a_restart_goes_on_after_what_was_marked(world: World) -> None:
    first, second = Subscriber(), Subscriber()
    world.queue(b"1", b"2")
    channel = world.start(first)
    world.drain(channel)
    channel.close()
    world.queue(b"3")
    world.drain(world.start(second))

    assert second.got == [b"3"]


def test_a_message_is_given_up_by_its_age_and_never_by_its_tries(world: World) -> None:
    subscriber = Subscriber(down=lambda body: Outcome.NOT_REACHED if body == b"old" else None)
    world.queue(b"old", at=NOW - timedelta(days=6))
    world.queue(b"new")
    world.drain(world.start(subscriber))

    assert subscriber.got == [b"new"]
    assert subscriber.tried == [b"old", b"new"]


def test_five_days_of_tries_end_in_a_dead_letter_that_a_person_can_send_again(world: World) -> None:
    away = Subscriber(down=lambda _body: Outcome.TIMED_OUT)
    world.queue(b"1")
    world.drain(world.start(away))
    assert timedelta(days=5) < world.at - NOW < timedelta(days=5, hours=1)
    assert len(away.tried) > 700

    with world.store.transaction() as tx:
        [dead] = tx.dead_letters()
        assert (dead.message.body, dead.reason) == (b"1", "down")
        assert tx.send_again(CHANNEL, dead.message.seq, world.at)
        assert not tx.send_again(CHANNEL, dead.message.seq, world.at)
        assert tx.dead_letters() == []
    back = Subscriber()
    world.drain(world.start(back))

    assert back.got == [b"1"]


def test_a_message_that_is_refused_for_good_holds_nobody_up(world: World) -> None:
    subscriber = Subscriber(down=lambda body: Outcome.NEVER if body == b"bad" else None)
    world.queue(b"1", b"bad", b"2")
    world.drain(world.start(subscriber))

    assert subscriber.tried == [b"1", b"bad", b"2"]
    with world.store.transaction() as tx:
        assert [dead.message.body for dead in tx.dead_letters()] == [b"bad"]


def test_a_channel_that_forgets_sends_each_once_and_keeps_no_dead_letter(world: World) -> None:
    subscriber = Subscriber(down=lambda body: Outcome.BUSY if body == b"1" else None)
    world.queue(b"1", b"2")
    world.drain(world.start(subscriber, ChannelRules(ChannelMode.FIRE_AND_FORGET)))

    assert subscriber.tried == [b"1", b"2"]
    with world.store.transaction() as tx:
        assert tx.dead_letters() == []


def test_a_channel_that_discards_at_the_next_signal_repeats_only_the_newest(world: World) -> None:
    subscriber = Subscriber()
    subscriber.down = lambda _body: Outcome.NOT_REACHED if len(subscriber.tried) < 5 else None
    world.queue(b"1", b"2", b"3")
    world.drain(world.start(subscriber, ChannelRules(retry=RetryPolicy.DISCARD_AT_NEXT_SIGNAL)))

    assert subscriber.tried == [b"1", b"2", b"3", b"3", b"3"]
    assert subscriber.got == [b"3"]


def test_through_an_outage_of_an_hour_with_5000_changes_and_a_restart_all_arrive_in_order(
    world: World,
) -> None:
    """The subscriber takes some and loses its answer, then is away; the bridge is restarted after half an hour."""
    away_from, back_at = NOW + timedelta(minutes=5), NOW + timedelta(minutes=65)
    subscriber = Subscriber(down=lambda _: Outcome.NOT_REACHED if away_from < world.at < back_at else None)
    bodies = [b"%04d" % number for number in range(5_000)]
    channel, due = world.start(subscriber), world.at
    for place, body in enumerate(bodies):
        world.queue(body)
        world.pass_(1)
        if place == 2_500:  # killed; the new process has only what the store says
            channel, due = world.start(subscriber), world.at
        if world.at >= due:
            due = world.at + timedelta(seconds=channel.turn().failing_s)
    world.drain(channel)

    assert list(dict.fromkeys(subscriber.got)) == bodies
    assert len(subscriber.got) < len(bodies) + 64, "only what was not settled at the kill comes twice"
    assert len(subscriber.tried) - len(subscriber.got) < 60, "an outage of an hour is not hammered"


def test_what_was_sent_and_not_yet_marked_comes_again_after_a_kill_with_the_same_bytes(world: World) -> None:
    subscriber = Subscriber()
    world.queue(b"1", b"2")
    world.drain(world.start(subscriber))  # never closed: the process was killed
    world.queue(b"3")
    world.drain(world.start(subscriber))

    assert subscriber.got == [b"1", b"2", b"1", b"2", b"3"]


def test_one_dead_subscriber_slows_nobody(world: World) -> None:
    hanging, quick = Subscriber(down=lambda _body: Outcome.TIMED_OUT), Subscriber()
    world.queue(b"1")
    loops = [ChannelLoop(world.start(one), Heartbeats(time.monotonic), Notices()) for one in (hanging, quick)]
    for loop in loops:
        loop.start()
    until_s = time.monotonic() + 10
    while not (quick.got and hanging.tried) and time.monotonic() < until_s:
        time.sleep(0.01)
    for loop in loops:
        loop.stop()
        loop.join(5)

    assert (quick.got, hanging.got) == ([b"1"], [])
