"""One subscriber: in order, the same bytes on each try, and through restarts."""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from ticketbridge.daemon import channel_loop, clock
from ticketbridge.daemon.channel_loop import ChannelLoop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.logs import Notices
from ticketbridge.report.send import NotReceived
from ticketbridge.store.records import Message
from ticketbridge.store.store import Store, open_store

CHANNEL = "mis.http"


@dataclass
class Subscriber:
    """Takes what it is sent, or not."""

    down: Callable[[bytes], bool] = lambda _body: False
    got: list[bytes] = field(default_factory=list)
    tried: list[bytes] = field(default_factory=list)

    def send(self, body: bytes, _file_name: str) -> None:
        self.tried.append(body)
        if self.down(body):
            raise NotReceived("down")
        self.got.append(body)

    def settle(self, file_names: Sequence[str]) -> None:
        pass

    def close(self) -> None:
        pass


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setattr(channel_loop, "wait_s", lambda _age_s: 0.01)
    monkeypatch.setattr(channel_loop, "SETTLE_S", 0.05)
    store = open_store(tmp_path / "bridge.sqlite")
    yield store
    store.close()


def queue(store: Store, *bodies: bytes, at: datetime | None = None) -> None:
    with store.transaction() as tx:
        for body in bodies:
            seq = tx.next_seq(CHANNEL)
            tx.queue_message(Message(CHANNEL, seq, body, f"{seq}.jmf", at or clock.now()))


def drain(store: Store, subscriber: Subscriber, until: Callable[[], bool], give_up_days: float = 5) -> None:
    loop = ChannelLoop(CHANNEL, subscriber, store, give_up_days, Notices(), Heartbeats(clock.monotonic))
    loop.start()
    for _ in range(500):
        if until():
            break
        time.sleep(0.01)
    loop.stop()
    loop.join(5)


def test_messages_arrive_in_order_and_are_marked(store: Store) -> None:
    subscriber = Subscriber()
    queue(store, b"1", b"2", b"3")
    drain(store, subscriber, lambda: len(subscriber.got) == 3)

    assert subscriber.got == [b"1", b"2", b"3"]
    with store.transaction() as tx:
        assert tx.sent_up_to(CHANNEL) == 3


def test_a_subscriber_that_is_down_gets_the_same_bytes_again_and_nothing_overtakes(store: Store) -> None:
    subscriber = Subscriber()
    subscriber.down = lambda _body: len(subscriber.tried) < 4
    queue(store, b"1", b"2")
    drain(store, subscriber, lambda: len(subscriber.got) == 2)

    assert subscriber.tried == [b"1", b"1", b"1", b"1", b"2"]


def test_a_restart_goes_on_after_what_was_marked(store: Store) -> None:
    first, second = Subscriber(), Subscriber()
    queue(store, b"1", b"2")
    drain(store, first, lambda: len(first.got) == 2)
    queue(store, b"3")
    drain(store, second, lambda: len(second.got) == 1)

    assert second.got == [b"3"]


def test_a_message_is_given_up_by_its_age_and_never_by_its_tries(store: Store) -> None:
    subscriber = Subscriber(down=lambda body: body == b"old")
    queue(store, b"old", at=clock.now() - timedelta(days=6))
    queue(store, b"new")
    drain(store, subscriber, lambda: subscriber.got == [b"new"])

    assert subscriber.got == [b"new"]
    assert subscriber.tried == [b"old", b"new"]
