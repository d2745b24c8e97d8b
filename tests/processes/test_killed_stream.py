"""A stream of tickets while bridges, presses and the subscriber are killed and paused at random: judged by what is left.

Longer by hand: ``TICKETBRIDGE_KILLS=300 TICKETBRIDGE_KILL_SEED=7 pytest -n 0 tests/processes/test_killed_stream.py``.
"""

import os
import random
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.processes.caught import MOMENTS, caught
from tests.processes.programs import Program, in_background, wait_until
from tests.processes.several import LEASE_S, Database, several, start_what_ended, until_all_listen
from tests.processes.stream import House, new_house, orders, running
from tests.processes.stream_checker import faults
from tests.unit.daemon.http.office import jmf, query
from ticketbridge.demo.orders import DemoOrder

pytestmark = [pytest.mark.kill, pytest.mark.processes]

KILLS = int(os.environ.get("TICKETBRIDGE_KILLS", "25"))
EVENTS = int(os.environ.get("TICKETBRIDGE_KILLS", "6"))
SEED = int(os.environ.get("TICKETBRIDGE_KILL_SEED", "20261125"))
BRIDGE = [sys.executable, "-m", "ticketbridge"]


def kill_and_start(house: House, chance: random.Random) -> str:
    """One program dies at a random moment and comes again.

    A bridge mostly dies at work: a slow machine would else never see one live long enough to get anything done.

    Returns:
        Which it was.
    """
    [bridge], [press_1, press_2] = house.bridges, house.presses
    victim = chance.choices([bridge, press_1, press_2, house.sink], [5, 2, 1, 2])[0]
    if victim is bridge and chance.random() < 0.7:
        wait_until(house.listens, "the bridge listens")
        house.until_one_more_is_back(at_most_s=5)
    time.sleep(chance.uniform(0.05, 1.0))
    victim.kill()
    time.sleep(chance.uniform(0, 1.5 if victim is house.sink else 0.3))
    victim.start()
    return victim.log.stem


def feed(
    take: Callable[[DemoOrder], None], orders: list[DemoOrder], pace: random.Random, calm: threading.Event
) -> None:
    """One ticket after the other, some of them at once; without a pause as soon as nobody is killed any more."""
    for order in orders:
        take(order)
        if pace.random() < 0.7:
            calm.wait(pace.uniform(0.1, 2.5))


def subscribe(house: House) -> None:
    """To the queue, by message."""
    channel = f'<Subscription URL="{house.url_of("queue")}" ChannelMode="Reliable"/>'
    assert b'Subscribed="true"' in house.post(jmf(query("QueueStatus", channel, "sub-1")))


@pytest.mark.timeout(7200)
def test_every_ticket_is_printed_once_and_every_event_told_in_order_whoever_is_killed(tmp_path: Path) -> None:
    chance = random.Random(SEED)
    house, broken = new_house(tmp_path, bridges=[BRIDGE], by_message=True), list[BaseException]()
    by_folder, by_message = (list(orders(prefix, KILLS, chance)) for prefix in ("D", "H"))
    calm = threading.Event()

    with running(house):
        wait_until(house.listens, "the bridge listens")
        subscribe(house)
        feeders = [
            in_background(lambda: feed(house.drop, by_folder, random.Random(SEED + 1), calm), broken),
            in_background(lambda: feed(house.submit, by_message, random.Random(SEED + 2), calm), broken),
        ]
        killed = Counter(kill_and_start(house, chance) for _ in range(KILLS))
        calm.set()
        for feeder in feeders:
            feeder.join()
        assert broken == []
        house.until_quiet()
        assert [program.stop() for program in house.bridges + house.presses] == [0, 0, 0]

    print(f"seed {SEED}: {dict(killed)} killed, {house.unanswered} submissions made again")
    names = [order.file_name for order in house.dropped]
    assert faults(tmp_path, names, house.submitted, speaking=("P1",)) == []


def mischief(count: int, chance: random.Random) -> list[str]:
    """What is to happen, in order: the worst three at least once each."""
    more = ["kill", "stand still", "pause", "press", "subscriber", "database"]
    found = ["kill", "stand still", "database", *chance.choices(more, [4, 4, 2, 1, 1, 1], k=count)][:count]
    chance.shuffle(found)
    return found


def do(what: str, house: House, chance: random.Random, database: Database) -> str:
    """A bridge is killed, or stands still for shorter or longer than its lease lasts; or something else dies.

    Mostly when work goes on: a slow machine would else never see bridges live long enough to get anything done.

    Returns:
        What it was.
    """
    start_what_ended(house)
    if chance.random() < 0.8:
        house.until_one_more_is_back(at_most_s=5)
    time.sleep(chance.uniform(0, 0.5))
    start_what_ended(house)
    if what == "database":
        database.stop()
        time.sleep(chance.uniform(0, 3))
        database.start()
        return what
    if what in ("press", "subscriber"):
        victim, moment = {"press": chance.choice(house.presses), "subscriber": house.sink}[what], ""
    else:
        victim, moment = hit(house, chance, database)
    still_s = {"stand still": LEASE_S + chance.uniform(-0.5, 3), "pause": chance.uniform(0.2, 1.5)}.get(what)
    if still_s is not None:
        victim.send(signal.SIGSTOP)
        time.sleep(still_s)
        victim.send(signal.SIGCONT)
    else:
        victim.kill()
        time.sleep(chance.uniform(0, 1))
        victim.start()
    return f"{what} {moment}".strip()


def hit(house: House, chance: random.Random, database: Database) -> tuple[Program, str]:
    """A bridge, and what it was caught at; it stands still then. Now and then any bridge, whatever it does."""
    moment = chance.choice([*MOMENTS, None])
    if moment and (found := caught(house, database.address, moment, within_s=5)):
        return found.bridge, f"({moment.what})"
    return chance.choice(house.bridges), ""


@pytest.mark.timeout(7200)
def test_three_bridges_on_one_database_print_each_ticket_once_and_tell_all_in_order(tmp_path: Path) -> None:
    chance, calm, broken = random.Random(SEED), threading.Event(), list[BaseException]()
    by_folder, by_message = list(orders("D", 2 * EVENTS, chance)), list(orders("H", EVENTS, chance))
    plan, done = mischief(EVENTS, chance), Counter[str]()
    with tempfile.TemporaryDirectory() as data, several(tmp_path, Path(data), 3) as (house, database):
        until_all_listen(house)
        subscribe(house)
        feeders = [
            in_background(lambda: feed(house.drop, by_folder, random.Random(SEED + 1), calm), broken),
            in_background(lambda: feed(house.submit, by_message, random.Random(SEED + 2), calm), broken),
        ]
        for what in plan:
            done[do(what, house, chance, database)] += 1
        calm.set()
        while any(feeder.is_alive() for feeder in feeders):
            start_what_ended(house)
            time.sleep(0.2)
        assert broken == []
        house.until_quiet(lambda: start_what_ended(house))
        until_all_listen(house)
        assert [program.stop() for program in house.bridges + house.presses] == [0] * 5

    print(f"seed {SEED}: {dict(done)}")
    print(f"{house.unanswered} submissions made again, {house.elsewhere} of them taken by another bridge")
    names = [order.file_name for order in house.dropped]
    assert faults(tmp_path, names, house.submitted, speaking=("P1",)) == []
