"""Leases, on both databases: one owner each, dead ones struck out, and none that was struck out writes again."""

import threading
import time
from collections.abc import Iterator

import pytest

from tests.databases import Server, run_sql
from tests.unit.made import NOW
from ticketbridge.store.leases import LASTS_S, Fenced, Leases
from ticketbridge.store.opening import Address, open_engine
from ticketbridge.store.postgres import Role, open_postgres
from ticketbridge.store.records import Message
from ticketbridge.store.store import open_shared_store, open_store

NAMES = ["lane A", "lane B", "source mis"]


@pytest.fixture
def one(database: Address) -> Iterator[Leases]:
    open_store(database).close()
    leases = Leases(_aside(database), "one")
    leases.join("press-room", 11, "0.1")
    leases.offer(NAMES)
    yield leases
    leases.close()


@pytest.fixture
def two(one: Leases, database: Address) -> Iterator[Leases]:
    leases = Leases(_aside(database), "two")
    leases.join("office", 22, "0.1")
    yield leases
    leases.close()


def _aside(database: Address) -> object:
    return (
        open_postgres(database, Role.ASIDE)
        if isinstance(database, str)
        else open_engine(database, read_only=False)
    )


def dies(database: Address, bridge_id: str) -> None:
    """Its heartbeats have stopped long ago."""
    run_sql(
        database, "UPDATE bridge SET alive_until_s = alive_until_s - 60 WHERE bridge_id = :id", id=bridge_id
    )


def owners(leases: Leases) -> dict[str, str | None]:
    return {lease.name: lease.bridge_id for lease in leases.board()[1]}


def test_what_one_has_taken_no_other_gets(one: Leases, two: Leases) -> None:
    assert one.take(["lane A", "source mis"]) == ["lane A", "source mis"]

    assert two.take(NAMES) == ["lane B"]
    assert owners(one) == {"lane A": "one", "lane B": "two", "source mis": "one"}


def test_what_was_given_up_is_free_and_that_counts_as_no_takeover(one: Leases, two: Leases) -> None:
    one.take(NAMES)
    one.give_up(["lane A"])

    assert two.take(NAMES) == ["lane A"]
    assert [lease.takeovers for lease in two.board()[1]] == [0, 0, 0]


def test_nobody_gives_up_what_another_has(one: Leases, two: Leases) -> None:
    one.take(NAMES)
    two.give_up(NAMES)

    assert set(owners(one).values()) == {"one"}


def test_the_board_tells_who_is_there_and_until_when(one: Leases, two: Leases) -> None:
    one.beat(["lane A"])
    seats, _ = two.board()

    assert [(seat.bridge_id, seat.host, seat.pid) for seat in seats] == [
        ("one", "press-room", 11),
        ("two", "office", 22),
    ]
    assert seats[0].can_serve == {"lane A"}
    assert 0 < seats[0].left_s <= LASTS_S
    assert 0 <= seats[0].up_s < 60


def test_one_that_beats_is_not_struck_out_and_one_that_does_not_is(
    one: Leases, two: Leases, database: Address
) -> None:
    assert two.strike_out_dead() == []
    dies(database, "one")

    assert two.strike_out_dead() == ["one"]
    assert [seat.bridge_id for seat in two.board()[0]] == ["two"]


def test_a_late_heartbeat_saves_one_that_nobody_has_struck_out(
    one: Leases, two: Leases, database: Address
) -> None:
    dies(database, "one")
    one.beat([])

    assert two.strike_out_dead() == []


def test_a_bridge_that_was_struck_out_learns_it_at_its_next_heartbeat(
    one: Leases, two: Leases, database: Address
) -> None:
    dies(database, "one")
    two.strike_out_dead()

    with pytest.raises(Fenced):
        one.beat([])


def test_what_a_dead_one_served_is_taken_over_and_each_takeover_is_counted(
    one: Leases, two: Leases, database: Address
) -> None:
    one.take(["lane A", "lane B"])
    dies(database, "one")
    assert two.take(NAMES) == ["source mis"]  # only its being struck out makes the others free
    two.strike_out_dead()
    assert owners(two)["lane A"] is None

    assert two.take(NAMES) == ["lane A", "lane B"]
    assert {lease.name: lease.takeovers for lease in two.board()[1]} == {
        "lane A": 1,
        "lane B": 1,
        "source mis": 0,
    }


def test_one_that_leaves_in_order_leaves_nothing_behind(one: Leases, two: Leases) -> None:
    one.take(NAMES)
    one.leave()

    assert [seat.bridge_id for seat in two.board()[0]] == ["two"]
    assert two.take(NAMES) == NAMES
    assert [lease.takeovers for lease in two.board()[1]] == [0, 0, 0]


def test_many_that_grab_at_once_share_and_nothing_is_taken_twice(postgres: Server) -> None:
    address = postgres.new_database()
    open_store(address).close()
    bridges = [Leases(open_postgres(address, Role.ASIDE), name) for name in ("a", "b", "c", "d")]
    for leases in bridges:
        leases.join("here", 1, "0.1")
    names = [f"lane {number}" for number in range(40)]
    bridges[0].offer(names)
    taken: list[str] = []
    start = threading.Barrier(len(bridges))

    def grab(leases: Leases) -> None:
        start.wait()
        for name in names:
            taken.extend(leases.take([name]))

    threads = [threading.Thread(target=grab, args=(leases,)) for leases in bridges]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    # One that was just being taken is passed over, so a second look may be needed; never is one taken twice.
    assert len(taken) == len(set(taken))
    assert sorted([*taken, *bridges[0].take(names)]) == sorted(names)
    for leases in bridges:
        leases.close()


def test_a_bridge_that_was_struck_out_writes_nothing_more(postgres: Server) -> None:
    address = postgres.new_database()
    store, mine = open_shared_store(address, "one")
    mine.join("here", 1, "0.1")
    with store.transaction() as tx:
        tx.next_seq("mis.folder")
    dies(address, "one")
    other = Leases(open_postgres(address, Role.ASIDE), "two")
    other.join("there", 2, "0.1")
    other.strike_out_dead()

    with pytest.raises(Fenced), store.transaction() as tx:
        tx.queue_message(Message("mis.folder", 2, b"", "2.jmf", NOW))

    assert run_sql(address, "SELECT count(*) FROM message") == [(0,)]
    for one in (store, mine, other):
        one.close()


def test_a_bridge_that_is_just_writing_is_not_struck_out_before_it_has_ended(postgres: Server) -> None:
    address = postgres.new_database()
    store, mine = open_shared_store(address, "one")
    mine.join("here", 1, "0.1")
    dies(address, "one")
    other = Leases(open_postgres(address, Role.ASIDE), "two")
    other.join("there", 2, "0.1")

    with store.transaction() as tx:
        tx.next_seq("mis.folder")
        assert other.strike_out_dead() == []
    assert other.strike_out_dead() == ["one"]

    for one in (store, mine, other):
        one.close()


def test_a_heartbeat_does_not_wait_for_the_bridge_s_own_transaction(postgres: Server) -> None:
    address = postgres.new_database()
    store, mine = open_shared_store(address, "one")
    mine.join("here", 1, "0.1")

    with store.transaction() as tx:
        tx.next_seq("mis.folder")
        began_s = time.monotonic()
        beating = threading.Thread(target=mine.beat, args=([],))
        beating.start()
        beating.join(15)
        assert not beating.is_alive(), f"it waits after {time.monotonic() - began_s:.0f} s"

    store.close()
    mine.close()


def test_numbers_of_several_bridges_never_meet(postgres: Server) -> None:
    address = postgres.new_database()
    stores = [open_shared_store(address, name) for name in ("one", "two")]
    numbers = [store.numbers() for store, _ in stores]

    assert [next(numbers[turn % 2]) for turn in range(6)] == [1, 2, 3, 4, 5, 6]

    for store, leases in stores:
        store.close()
        leases.close()
