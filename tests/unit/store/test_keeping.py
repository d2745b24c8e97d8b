"""The store as a whole, on both databases: what it knows of files and jobs, and what a restore does to it."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from tests.unit.made import NOW, job
from ticketbridge.model.event import Event
from ticketbridge.model.job_states import State
from ticketbridge.store.keeping import KnownFile
from ticketbridge.store.opening import Address
from ticketbridge.store.records import Delivery, DeliveryState, Intake, Message
from ticketbridge.store.store import Store, open_store


@pytest.fixture
def store(database: Address) -> Iterator[Store]:
    store = open_store(database)
    with store.transaction() as tx:
        tx.record_intakes([Intake("claim-1", "mis", "order.jdf", "accepted", "ab", [])], NOW)
        tx.add_jobs([job(1, identity="a"), job(2, identity="b")])
    yield store
    store.close()


def end(store: Store, name: str) -> None:
    with store.transaction() as tx:
        ended = {"state": State.COMPLETED, "ended_at": NOW + timedelta(hours=1)}
        tx.change_job(tx.standing(name), **ended)


def test_every_file_that_was_taken_in_is_known_until_it_is_archived(store: Store) -> None:
    with store.transaction() as tx:
        known = tx.known_files()
        tx.note_archived({"claim-1"}, "2026-03-tickets.zip", 1, NOW)
        after = tx.known_files()

    file = KnownFile("claim-1", "mis", "order.jdf", "accepted", "ab", NOW)
    assert known == {"claim-1": file}
    assert after == {"claim-1": replace(file, place="archived")}


def test_a_file_is_needed_until_the_last_of_its_jobs_has_ended(store: Store) -> None:
    end(store, "Q000001")
    with store.transaction() as tx:
        assert tx.last_needed() == {"claim-1": None}
        assert tx.open_claims() == {"claim-1"}
    end(store, "Q000002")
    with store.transaction() as tx:
        assert tx.last_needed() == {"claim-1": NOW + timedelta(hours=1)}
        assert tx.open_claims() == set()


def test_each_job_comes_with_what_happened_to_it_in_order(store: Store) -> None:
    with store.transaction() as tx:
        tx.tell(Event("accepted", NOW, "Q000001"), Event("accepted", NOW, "Q000002"), Event("x", NOW))
        tx.tell(Event("held", NOW, "Q000001"))

        told = list(tx.histories())

    assert told == [
        ("Q000001", State.WAITING, ["accepted", "held"]),
        ("Q000002", State.WAITING, ["accepted"]),
    ]


def test_only_what_a_press_had_and_had_not_begun_is_doubted(store: Store) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job(3, identity="c")])
        tx.intend([Delivery(f"Q00000{n}", "HL-P1-A", f".{n}", f"{n}.jdf") for n in (1, 2)], NOW)
        tx.mark_given(["Q000001", "Q000002"])
        tx.mark_delivered(["Q000001", "Q000002"])
        tx.change_job(tx.standing("Q000002"), state=State.RUNNING)

        doubted = tx.doubt_deliveries()
        tx.mark_delivered(["Q000001"])  # a start that finds no temporary file must not decide it

        first, second = tx.delivery("Q000001"), tx.delivery("Q000002")
    assert doubted == ["Q000001"]
    assert first is not None
    assert first.state is DeliveryState.IN_DOUBT
    assert second is not None
    assert second.state is DeliveryState.DELIVERED


def test_numbers_go_on_far_behind_those_that_were_given(store: Store) -> None:
    with store.transaction() as tx:
        assert [tx.next_seq("mis.folder") for _ in range(3)] == [1, 2, 3]
        tx.leave_numbers_free(1000, NOW)

        assert tx.last_number() == 1002
        assert tx.next_seq("mis.folder") == 1004


def test_a_held_lane_that_was_closed_stays_closed(store: Store) -> None:
    with store.transaction() as tx:
        tx.hold_queue("HL-P1-A")
        tx.set_queue_state("HL-P1-B", replace(tx.queue_states()["HL-P1-A"], closed=True, held=False))
        tx.hold_queue("HL-P1-B")

        states = tx.queue_states()
    assert {name: (one.closed, one.held) for name, one in states.items()} == {
        "HL-P1-A": (False, True),
        "HL-P1-B": (True, True),
    }


def test_artwork_outside_the_folder_stays_where_it_is(store: Store) -> None:
    with store.transaction() as tx:
        before = tx.job("Q000001")
        tx.move_artwork(Path("/srv/elsewhere"), Path("/srv/new"))

        assert tx.job("Q000001") == before


def test_only_sent_messages_of_that_age_are_shown_and_forgotten(store: Store) -> None:
    with store.transaction() as tx:
        for seq in (1, 2, 3):
            assert tx.next_seq("mis.folder") == seq
            tx.queue_message(Message("mis.folder", seq, b"x", f"{seq}.jmf", NOW + timedelta(days=seq)))
        tx.mark_sent("mis.folder", 2)

        old = tx.sent_messages(NOW + timedelta(days=2))
        tx.forget_messages(old)

        assert [one.seq for one in old] == [1]
        assert [one.seq for one in tx.unsent("mis.folder", 0, 9)] == [2, 3]


def test_a_whole_database_has_nothing_to_complain_about(store: Store) -> None:
    with store.transaction() as tx:
        assert tx.complaints_of_the_database() == []


def test_ids_of_received_messages_are_forgotten_by_their_age_and_taken_for_new_after_that(
    store: Store,
) -> None:
    later = NOW + timedelta(days=40)
    with store.transaction() as tx:
        assert tx.is_new_message("press", "old", NOW)
        assert tx.is_new_message("press", "young", later)
    with store.transaction() as tx:
        old = tx.received_before(later)
        tx.forget_received(old)
    assert old == [("press", "old")]
    with store.transaction() as tx:
        assert tx.received_before(later) == []
        assert not tx.is_new_message("press", "young", later)
        assert tx.is_new_message("press", "old", later)
