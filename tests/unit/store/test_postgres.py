"""What only a PostgreSQL store can show: writers that take turns, a server that goes away, text without limits."""

import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy.exc import InternalError

from tests.databases import Server, own_server, run_sql
from tests.unit.made import NOW, job
from ticketbridge.model.job_states import State
from ticketbridge.store.hints import listen
from ticketbridge.store.records import Intake, Message, WorldFault
from ticketbridge.store.store import Store, open_shared_store, open_store, open_view


@pytest.fixture
def address(postgres: Server) -> str:
    return postgres.new_database()


def known_claim(store: Store) -> None:
    with store.transaction() as tx:
        tx.record_intakes([Intake("claim-1", "mis", "order.jdf", "accepted", "ab", [])], NOW)


def until(true: Callable[[], bool], seconds: float = 10) -> bool:
    until_s = time.monotonic() + seconds
    while not true():
        if time.monotonic() > until_s:
            return False
        time.sleep(0.02)
    return True


def test_between_the_reads_of_a_transaction_and_its_writes_comes_nobody_else_s_write(address: str) -> None:
    one, other = open_store(address), open_store(address)
    seen: list[int] = []

    def ask() -> None:
        with other.transaction() as tx:
            seen.append(tx.next_seq("mis.folder"))

    with one.transaction() as tx:
        first = tx.next_seq("mis.folder")
        asking = threading.Thread(target=ask)
        asking.start()
        asking.join(0.5)
        assert seen == []
        tx.queue_message(Message("mis.folder", first, b"", "1.jmf", NOW))
    asking.join(10)

    assert (first, seen) == (1, [2])
    one.close()
    other.close()


def test_a_reader_waits_for_no_writer(address: str) -> None:
    store, view = open_store(address), open_view(address)
    with store.transaction() as tx:
        tx.next_seq("mis.folder")
        with view.transaction() as seen:
            assert seen.channels() == {}
    store.close()
    view.close()


@pytest.fixture
def bridges(address: str) -> Iterator[dict[str, Store]]:
    """Two that share the store."""
    made = {name: open_shared_store(address, name) for name in ("one", "other")}
    for _, leases in made.values():
        leases.join("here", 1, "0.1")
        leases.close()
    yield {name: store for name, (store, _) in made.items()}
    for store, _ in made.values():
        store.close()


def say_something(store: Store) -> None:
    with store.transaction() as tx:
        tx.queue_message(Message("mis.folder", tx.next_seq("mis.folder"), b"", "1.jmf", NOW))


def test_a_bridge_that_reads_waits_for_no_other_s_turn_to_write(bridges: dict[str, Store]) -> None:
    with bridges["one"].transaction() as tx:
        tx.next_seq("mis.folder")
        with bridges["other"].reading() as seen:
            assert seen.channels() == {}
    with bridges["other"].reading() as seen:
        assert list(seen.channels()) == ["mis.folder"]


def test_a_bridge_that_reads_changes_nothing(bridges: dict[str, Store]) -> None:
    with pytest.raises(InternalError), bridges["one"].reading() as seen:
        seen.next_seq("mis.folder")


def test_a_hint_wakes_the_other_bridges_and_not_the_one_that_gave_it(
    address: str, bridges: dict[str, Store]
) -> None:
    hints = listen(address, "one", look_s=60)
    next(hints)
    waiting = threading.Thread(target=next, args=(hints,))
    waiting.start()

    say_something(bridges["one"])
    waiting.join(0.5)
    assert waiting.is_alive()

    say_something(bridges["other"])
    waiting.join(10)
    assert not waiting.is_alive()
    hints.close()


def test_a_commit_is_on_the_disk_also_where_the_server_was_set_up_for_speed(
    postgres: Server, address: str
) -> None:
    name = address.rpartition("/")[2].partition("?")[0]
    postgres.do(f"ALTER DATABASE {name} SET synchronous_commit = off")

    assert run_sql(address, "SHOW synchronous_commit") == [("on",)]


def test_text_has_no_limit_so_that_a_ticket_cannot_fail_here_that_passes_in_sqlite(address: str) -> None:
    store = open_store(address)
    known_claim(store)
    with store.transaction() as tx:
        tx.add_jobs([job()])
        tx.change_job(tx.standing("Q000001"), state=State.RUNNING, status_details="x" * 500, phase="y" * 99)
        assert tx.standing("Q000001").phase == "y" * 99
    store.close()


def test_a_connection_that_was_cut_is_made_anew_and_what_was_not_committed_is_gone(address: str) -> None:
    store = open_store(address)
    cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"

    def write_and_be_cut() -> None:
        with store.transaction() as tx:
            tx.next_seq("mis.folder")
            view = open_view(address)
            with view.transaction() as reading:
                reading._connection.exec_driver_sql(cut)
            view.close()
            tx.next_seq("mis.folder")

    with pytest.raises(WorldFault):
        write_and_be_cut()

    with store.transaction() as tx:
        assert tx.channels() == {}
    store.close()


def test_a_server_that_was_stopped_and_started_is_found_again() -> None:
    with tempfile.TemporaryDirectory() as folder:
        with own_server(Path(folder)) as own:
            store = open_store(own.get_uri())
            known_claim(store)
        with pytest.raises(WorldFault), store.transaction() as tx:
            tx.last_number()
        with pytest.raises(WorldFault), store.transaction() as tx:
            tx.last_number()

        with own_server(Path(folder)), store.transaction() as tx:
            assert tx.intake_outcome("claim-1")[0] == "accepted"
        store.close()


def test_without_its_library_the_start_says_what_to_install(tmp_path: Path) -> None:
    program = (
        "import sys; sys.modules['psycopg'] = None\n"
        "from ticketbridge.store.store import open_store\n"
        "from ticketbridge.store.postgres import DriverMissing\n"
        "try: open_store('postgresql://nobody@localhost/none')\n"
        "except DriverMissing as error: print(error)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60)

    assert "install ticketbridge[postgres]" in done.stdout


def test_one_that_stood_still_inside_a_transaction_is_cut_off_and_goes_on_with_the_next(address: str) -> None:
    store = open_store(address)
    with pytest.raises(WorldFault, match="idle-in-transaction"):
        _stand_still_inside(store)

    with store.transaction() as tx:
        assert tx.next_seq("mis.folder") == 1
    store.close()


def _stand_still_inside(store: Store) -> None:
    with store.transaction() as tx:
        tx.next_seq("mis.folder")
        store._connection.exec_driver_sql("SET LOCAL idle_in_transaction_session_timeout = '100ms'")
        time.sleep(0.5)
        tx.next_seq("mis.folder")
