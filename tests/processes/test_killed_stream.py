"""A stream of tickets while bridges, presses and the subscriber are killed and paused at random: judged by what is left.

Longer by hand: ``TICKETBRIDGE_KILLS=300 TICKETBRIDGE_KILL_SEED=7 pytest -n 0 tests/processes/test_killed_stream.py``.
"""

import contextlib
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

from tests.databases import own_server
from tests.processes.programs import in_background, wait_until
from tests.processes.stream import House, new_house, orders, running
from tests.processes.stream_checker import faults
from tests.unit.daemon.http.office import jmf, query
from ticketbridge.demo.orders import DemoOrder

pytestmark = [pytest.mark.kill, pytest.mark.processes]

KILLS = int(os.environ.get("TICKETBRIDGE_KILLS", "25"))
EVENTS = int(os.environ.get("TICKETBRIDGE_KILLS", "6"))
SEED = int(os.environ.get("TICKETBRIDGE_KILL_SEED", "20261125"))
BRIDGE = [sys.executable, "-m", "ticketbridge"]
LEASE_S = 4.0
SHORT_LEASES = f"""
from ticketbridge.store import leases
leases.LASTS_S = {LEASE_S}
from ticketbridge.daemon import lease_loop
lease_loop.BEAT_S = lease_loop.MARGIN_S = 0.5
from ticketbridge.cli import main
main()
"""


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


@pytest.mark.timeout(7200)
def test_every_ticket_is_printed_once_and_every_event_told_in_order_whoever_is_killed(tmp_path: Path) -> None:
    chance = random.Random(SEED)
    house, broken = new_house(tmp_path, bridges=[BRIDGE], by_message=True), list[BaseException]()
    by_folder, by_message = (list(orders(prefix, KILLS, chance)) for prefix in ("D", "H"))
    calm = threading.Event()

    def feed(take: Callable[[DemoOrder], None], orders: list[DemoOrder], pace: random.Random) -> None:
        for order in orders:
            take(order)
            calm.wait(pace.uniform(0.1, 2.0))

    with running(house):
        wait_until(house.listens, "the bridge listens")
        channel = f'<Subscription URL="{house.url_of("queue")}" ChannelMode="Reliable"/>'
        assert b'Subscribed="true"' in house.post(jmf(query("QueueStatus", channel, "sub-1")))
        feeders = [
            in_background(lambda: feed(house.drop, by_folder, random.Random(SEED + 1)), broken),
            in_background(lambda: feed(house.submit, by_message, random.Random(SEED + 2)), broken),
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


class Database:
    """A PostgreSQL server of our own, which is stopped and started again."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._running = contextlib.ExitStack()

    def start(self) -> str:
        """Returns its address, which is the same each time."""
        return str(self._running.enter_context(own_server(self._folder)).get_uri()).replace(":@", "@")

    def stop(self) -> None:
        self._running.close()


def start_what_ended(house: House) -> None:
    """As a service manager does with a bridge that ended because another has taken over, or the database was away."""
    for bridge in house.bridges:
        if bridge.ended:
            assert bridge.process is not None
            assert bridge.process.returncode == os.EX_TEMPFAIL, bridge.log.read_text()[-2000:]
            bridge.start()


def mischief(count: int, chance: random.Random) -> list[str]:
    """What is to happen, in order: the worst three at least once each."""
    more = ["kill", "stand still", "pause", "press", "subscriber", "database"]
    found = ["kill", "stand still", "database", *chance.choices(more, [4, 4, 2, 1, 1, 1], k=count)][:count]
    chance.shuffle(found)
    return found


def do(what: str, house: House, chance: random.Random, database: Database) -> None:
    """A bridge is killed, or stands still for shorter or longer than its lease lasts; or something else dies."""
    time.sleep(chance.uniform(0.1, 2.0))
    start_what_ended(house)
    bridge = chance.choice(house.bridges)
    if what == "database":
        database.stop()
        time.sleep(chance.uniform(0, 3))
        database.start()
    elif what in ("pause", "stand still"):
        bridge.send(signal.SIGSTOP)
        time.sleep(chance.uniform(0.2, 1.5) if what == "pause" else LEASE_S + chance.uniform(1, 3))
        bridge.send(signal.SIGCONT)
    else:
        victim = {"kill": bridge, "press": chance.choice(house.presses), "subscriber": house.sink}[what]
        victim.kill()
        time.sleep(chance.uniform(0, 1))
        victim.start()


@pytest.mark.timeout(7200)
def test_three_bridges_on_one_database_print_each_ticket_once_and_tell_all_in_order(tmp_path: Path) -> None:
    chance, broken = random.Random(SEED), list[BaseException]()
    dropping, plan = list(orders("D", 3 * EVENTS, chance)), mischief(EVENTS, chance)
    pace = random.Random(SEED + 1)

    def drop_all(house: House) -> None:
        for order in dropping:
            house.drop(order)
            time.sleep(pace.uniform(0.1, 1.0))

    with tempfile.TemporaryDirectory() as data:
        database = Database(Path(data))
        store = f"store: {database.start()}"
        house = new_house(tmp_path, bridges=[[sys.executable, "-c", SHORT_LEASES]] * 3, store=store)
        try:
            with running(house):
                feeder = in_background(lambda: drop_all(house), broken)
                for what in plan:
                    do(what, house, chance, database)
                feeder.join()
                assert broken == []
                house.until_quiet(lambda: start_what_ended(house))
                assert [program.stop() for program in house.bridges + house.presses] == [0] * 5
        finally:
            database.stop()

    print(f"seed {SEED}: {dict(Counter(plan))}")
    assert faults(tmp_path, [order.file_name for order in house.dropped], {}) == []
