"""The store keeps what it is told, and refuses what must not happen."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError, InternalError, OperationalError

from tests.databases import run_sql
from tests.unit.made import NOW, ROLL, job
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job_states import State
from ticketbridge.store.opening import Address, StoreIsNewer
from ticketbridge.store.records import Delivery, DeliveryState, Intake, Known, Message, StateMoved
from ticketbridge.store.store import Store, open_store, open_view


@pytest.fixture
def store(database: Address) -> Iterator[Store]:
    store = open_store(database)
    with store.transaction() as tx:
        tx.record_intakes([Intake("claim-1", "mis", "order.jdf", "accepted", "ab", [])], NOW)
    yield store
    store.close()


def test_a_job_comes_back_as_it_was_put_in(store: Store) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job()])

    with store.transaction() as tx:
        assert tx.job("Q000001") == job()


def test_the_same_content_a_second_time_is_refused_by_the_database_itself(store: Store) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job(1)])

    with pytest.raises(IntegrityError), store.transaction() as tx:
        tx.add_jobs([job(2)])


def test_an_exception_takes_everything_back(store: Store) -> None:
    def add_and_break() -> None:
        with store.transaction() as tx:
            tx.add_jobs([job()])
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        add_and_break()

    with store.transaction() as tx:
        assert tx.all_jobs() == []


def test_a_job_is_only_changed_from_the_state_it_was_read_in(store: Store) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job()])
        before = tx.standing("Q000001")
        tx.change_job(before, state=State.RUNNING, started_at=NOW)

    with pytest.raises(StateMoved), store.transaction() as tx:
        tx.change_job(before, state=State.HELD)
    with store.transaction() as tx:
        assert tx.standing("Q000001") == replace(before, state=State.RUNNING, started_at=NOW)


def test_a_content_is_known_by_the_job_that_stands_for_it_and_not_by_a_removed_one(store: Store) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job(1, identity="a"), job(2, identity="b")])
        tx.change_job(tx.standing("Q000002"), state=State.REMOVED)

        known = tx.known_identities(["a", "b", "c"])

    assert known == {"a": Known("Q000001", 1), "b": Known(None, 1)}


def test_a_lane_only_knows_jobs_that_were_given_to_it(store: Store) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job(1, identity="a"), job(2, identity="b")])
        tx.mark_given(["Q000001"])

        found = [tx.job_at_lane("HL-P1-A", name) for name in ("Q000001", "Q000002")]
        elsewhere = tx.job_at_lane("HL-P1-B", "Q000001")

    assert [one and one.queue_entry_id for one in found] == ["Q000001", None]
    assert elsewhere is None


def test_an_intention_stays_open_until_it_is_marked_and_is_remembered_while_the_job_is_open(
    store: Store,
) -> None:
    intention = Delivery("Q000001", "HL-P1-A", ".t.tmp", "Q000001.jdf")
    with store.transaction() as tx:
        tx.add_jobs([job()])
        tx.intend([intention], NOW)
        assert tx.deliveries("HL-P1-A") == [intention]
        tx.mark_delivered(["Q000001"])
        assert tx.deliveries("HL-P1-A") == [replace(intention, state=DeliveryState.DELIVERED)]
        tx.change_job(tx.standing("Q000001"), state=State.COMPLETED)
        assert tx.deliveries("HL-P1-A") == []


def test_messages_come_out_in_order_and_the_watermark_never_goes_back(store: Store) -> None:
    with store.transaction() as tx:
        for body in (b"one", b"two"):
            seq = tx.next_seq("mis.folder")
            tx.queue_message(Message("mis.folder", seq, body, f"{seq}.jmf", NOW))
        assert [message.body for message in tx.unsent("mis.folder", 0, 10)] == [b"one", b"two"]
        tx.mark_sent("mis.folder", 2)
        tx.mark_sent("mis.folder", 1)
        assert tx.sent_up_to("mis.folder") == 2
        assert tx.channels() == {"mis.folder": (2, 2)}


def test_a_dead_message_is_passed_over_and_kept(store: Store) -> None:
    with store.transaction() as tx:
        for body in (b"one", b"two"):
            seq = tx.next_seq("mis.http")
            tx.queue_message(Message("mis.http", seq, body, f"{seq}.jmf", NOW))
        tx.bury(tx.unsent("mis.http", 0, 1)[0], "refused")
        assert [message.body for message in tx.unsent("mis.http", 0, 10)] == [b"two"]


def test_a_message_of_a_press_is_new_once(store: Store) -> None:
    with store.transaction() as tx:
        assert [tx.is_new_message("P1", "S1", NOW) for _ in range(2)] == [True, False]
        assert tx.is_new_message("P2", "S1", NOW)


def test_the_account_of_a_roll_never_falls_below_zero(store: Store) -> None:
    with store.transaction() as tx:
        tx.load_roll("HL-P1-A", ROLL, NOW)
        assert tx.use_roll("HL-P1-A", 12.5, NOW) == 37.5
        assert tx.use_roll("HL-P1-A", 100, NOW) == 0
        assert tx.rolls()["HL-P1-A"].length_left_m == 0


def test_findings_and_history_are_kept(store: Store) -> None:
    finding = Finding("a.b", Place("f", 1, 2, "/x"), {"n": 1})
    with store.transaction() as tx:
        tx.record_intakes([Intake("c2", "mis", "\udcff.jdf", "refused", "ab", [finding])], NOW)
        tx.tell(Event("accepted", NOW, "Q000001", facts={"n": 1}), Event("released", NOW, "Q000001"))
        assert tx.intake_outcome("c2") == ("refused", [finding])
        assert tx.intake_outcome("c3") == (None, [])
        assert [event["what"] for event in tx.history("Q000001")] == ["accepted", "released"]


def test_every_commit_is_synced_and_readers_do_not_wait(tmp_path: Path) -> None:
    store = open_store(tmp_path / "bridge.sqlite")
    with store.transaction() as tx:
        connection = tx._connection
        assert connection.execute(text("PRAGMA synchronous")).scalar_one() == 2
        assert connection.execute(text("PRAGMA journal_mode")).scalar_one() == "wal"
    store.close()


def test_a_view_sees_and_cannot_change(store: Store, database: Address) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job()])
    view = open_view(database)

    with view.transaction() as tx:
        assert [one.queue_entry_id for one in tx.all_jobs()] == ["Q000001"]
    with pytest.raises((OperationalError, InternalError)), view.transaction() as tx:
        tx.mark_given(["Q000001"])
    view.close()


def test_who_looks_sees_the_store_as_it_was_at_one_moment(store: Store, database: Address) -> None:
    view = open_view(database)
    with view.transaction() as seen:
        assert seen.channels() == {}
        with store.transaction() as tx:
            tx.add_jobs([job()])
            tx.next_seq("mis.folder")
        assert seen.channels() == {}
        assert seen.all_jobs() == []

    with view.transaction() as seen:
        assert list(seen.channels()) == ["mis.folder"]
    view.close()


def test_a_store_of_a_newer_bridge_is_left_alone(store: Store, database: Address) -> None:
    store.close()
    run_sql(database, "UPDATE alembic_version SET version_num = '9999'")

    with pytest.raises(StoreIsNewer, match="9999"):
        open_store(database)


def test_opening_again_keeps_everything(store: Store, database: Address) -> None:
    with store.transaction() as tx:
        tx.add_jobs([job()])
    store.close()

    again = open_store(database)
    with again.transaction() as tx:
        assert tx.last_number() == 1
    again.close()


def test_the_members_of_a_gang_come_back_in_their_order_and_count_as_one_ticket(store: Store) -> None:
    jobs = [job(number, identity=f"{number}") for number in (2, 1, 3)]
    with store.transaction() as tx:
        tx.add_jobs(jobs)
        tx.mark_given([one.queue_entry_id for one in jobs])
        tx.add_gang("G000002", jobs[:2], {one.queue_entry_id: b"<JDF/>" for one in jobs[:2]})

    with store.transaction() as tx:
        assert list(tx.gang_members("G000002").items()) == [
            ("Q000002", jobs[0].layout),
            ("Q000001", jobs[1].layout),
        ]
        assert [tx.gang_of(name) for name in ("Q000001", "Q000003")] == ["G000002", None]
        assert tx.gang_ticket("Q000001") == b"<JDF/>"
        assert tx.gang_members("Q000003") == {}
        [load] = tx.lane_loads()
        assert load.tickets == 2
        assert load.print_s == pytest.approx(3 * jobs[0].estimate.print_s)
