"""A share that hangs holds only who serves it alone; what was asked of it is over before it counts as answering."""

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from ticketbridge.spool import gates
from ticketbridge.spool.gate import AT_ONCE, Gate, ShareHangs
from ticketbridge.spool.gates import ask, ask_each

ANSWER_S = 0.2


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "share"


@pytest.fixture
def gate(folder: Path) -> Iterator[Gate]:
    gates.forget_all()
    yield gates.guard("lane A", [folder], ANSWER_S)
    gates.forget_all()


@pytest.fixture
def server() -> Iterator[threading.Event]:
    """Set while the file server answers."""
    answers = threading.Event()
    yield answers
    answers.set()


def is_hanging() -> bool:
    return bool(gates.hanging())


def wait_for(server: threading.Event) -> str:
    assert server.wait(30)
    return "late"


def until_it_answers(gate: Gate) -> None:
    for _ in range(500):
        if not gate.overdue_s():
            return
        time.sleep(0.01)
    raise AssertionError("it never answered")


def test_what_no_gate_guards_is_done_by_whoever_asks(tmp_path: Path, gate: Gate) -> None:
    assert ask(tmp_path / "elsewhere", threading.current_thread) is threading.current_thread()
    assert ask(gate.folder / "in", threading.current_thread) is not threading.current_thread()


def test_a_name_that_only_begins_like_a_guarded_folder_is_not_below_it(gate: Gate) -> None:
    beside = gate.folder.with_name("shared")
    assert ask(beside, threading.current_thread) is threading.current_thread()


def test_the_nearest_guarded_folder_counts(gate: Gate, folder: Path) -> None:
    gates.guard("source B", [folder / "inner"])
    assert gates.share_of(folder / "x") == "lane A"
    assert gates.share_of(folder / "inner" / "x") == "source B"


def test_an_error_of_the_call_is_the_caller_s(gate: Gate, folder: Path) -> None:
    with pytest.raises(FileNotFoundError):
        ask(folder, (folder / "none").stat)


def test_whoever_asks_a_share_that_hangs_is_told_in_time_and_the_next_at_once(
    gate: Gate, folder: Path, server: threading.Event
) -> None:
    with pytest.raises(ShareHangs, match="its share hangs"):
        ask(folder, lambda: wait_for(server))
    begun_s = time.monotonic()
    for _ in range(100):
        with pytest.raises(ShareHangs):
            ask(folder, lambda: pytest.fail("asked beside an answer that is owed"))
    assert time.monotonic() - begun_s < 100 * ANSWER_S
    assert list(gates.hanging()) == ["lane A"]


def test_when_it_answers_the_late_call_has_ended_before_anything_else_is_asked(
    gate: Gate, folder: Path, server: threading.Event
) -> None:
    order: list[str] = []

    def late() -> None:
        wait_for(server)
        time.sleep(0.05)
        order.append("late")

    with pytest.raises(ShareHangs):
        ask(folder, late)
    server.set()
    while True:
        try:
            ask(folder, lambda: order.append("next"))
            break
        except ShareHangs:
            time.sleep(0.01)
    assert order == ["late", "next"]
    assert not is_hanging()


def test_calls_that_had_not_begun_when_the_share_hung_never_happen(
    gate: Gate, folder: Path, server: threading.Event
) -> None:
    done: list[int] = []

    def one(number: int) -> None:
        wait_for(server)
        done.append(number)

    with pytest.raises(ShareHangs):
        ask_each(folder, [lambda number=number: one(number) for number in range(20)])  # type: ignore[misc]
    server.set()
    until_it_answers(gate)
    assert ask(folder, lambda: "well") == "well"
    time.sleep(0.1)
    assert len(done) == AT_ONCE


def test_many_slow_calls_are_no_hang(gate: Gate, folder: Path) -> None:
    slow = [lambda number=number: time.sleep(ANSWER_S / 4) or number for number in range(24)]  # type: ignore[misc]
    assert ask_each(folder, slow) == list(range(24))


def test_a_long_call_that_says_that_it_goes_on_is_no_hang(gate: Gate, folder: Path) -> None:
    def long() -> str:
        for _ in range(10):
            time.sleep(ANSWER_S / 4)
            gates.still_going()
        return "copied"

    assert ask(folder, long) == "copied"


def test_a_patient_thread_is_held_and_is_the_evidence(
    gate: Gate, folder: Path, server: threading.Event
) -> None:
    got: list[str] = []

    def serve() -> None:
        gates.be_patient()
        got.append(ask(folder, lambda: wait_for(server)))

    thread = threading.Thread(target=serve, name="lane A")
    thread.start()
    for _ in range(500):
        if is_hanging():
            break
        time.sleep(0.01)
    assert gates.held_threads() == {"lane A"}
    with pytest.raises(ShareHangs):
        ask(folder, lambda: "never asked")
    server.set()
    thread.join(10)
    assert got == ["late"]  # what a patient thread asked for, it gets, however late
    assert not is_hanging()
    assert gates.held_threads() == set()


def test_one_share_that_hangs_is_not_another(
    gate: Gate, folder: Path, tmp_path: Path, server: threading.Event
) -> None:
    gates.guard("lane B", [tmp_path / "other"], ANSWER_S)
    with pytest.raises(ShareHangs):
        ask(folder, lambda: wait_for(server))
    assert ask(tmp_path / "other" / "in", lambda: "well") == "well"


def test_a_call_within_a_call_asks_no_second_time(gate: Gate, folder: Path) -> None:
    names = ask(folder, lambda: (threading.current_thread(), ask(folder, threading.current_thread)))
    assert names[0] is names[1]


def test_a_folder_behind_a_link_is_guarded_under_both_names(tmp_path: Path) -> None:
    gates.forget_all()
    (tmp_path / "mounted").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "mounted")
    gates.guard("source A", [tmp_path / "link"], ANSWER_S)
    gates.follow_links()
    assert gates.share_of(tmp_path / "mounted" / "x.pdf") == "source A"
    gates.forget_all()


def test_what_lies_on_our_own_disk_is_spared_and_what_a_ticket_names_besides_is_not(tmp_path: Path) -> None:
    gates.forget_all()
    own, share = tmp_path / "own", tmp_path / "own" / "share"
    share.mkdir(parents=True)
    gates.guard("source A", [own], ANSWER_S)
    gates.guard("artwork B", [share], ANSWER_S)
    gates.follow_links(lambda folder: folder == own)
    me = threading.current_thread()
    assert gates.ask_of_any(own / "x", threading.current_thread) is me
    assert ask(share / "x", threading.current_thread) is not me
    assert gates.ask_of_any(tmp_path / "x", threading.current_thread) is not me
    gates.forget_all()


def test_a_folder_that_is_not_there_stays_guarded(tmp_path: Path) -> None:
    gates.forget_all()
    gates.guard("lane A", [tmp_path / "lane"], ANSWER_S)
    gates.follow_links(lambda folder: folder.stat().st_dev == tmp_path.stat().st_dev)
    assert gates.share_of(tmp_path / "lane") == "lane A"
    gates.forget_all()


def test_a_start_waits_for_all_the_shares_that_hang_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, server: threading.Event
) -> None:
    gates.forget_all()
    for number in range(6):
        gates.guard(f"lane {number}", [tmp_path / str(number)], 0.5)

    def resolve(path: Path) -> Path:
        wait_for(server)
        return path

    monkeypatch.setattr(Path, "resolve", resolve)
    begun_s = time.monotonic()
    gates.follow_links()
    assert time.monotonic() - begun_s < 6 * 0.5
    assert len(gates.hanging()) == 6
    server.set()
    gates.forget_all()


def test_a_path_that_a_ticket_names_outside_all_folders_is_asked_with_a_deadline_too(
    gate: Gate, tmp_path: Path, server: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gates._elsewhere, "answer_s", ANSWER_S)
    with pytest.raises(ShareHangs):
        gates.ask_of_any(tmp_path / "nowhere", lambda: wait_for(server))
    assert ask(gate.folder, lambda: "well") == "well"
    server.set()
    until_it_answers(gates._elsewhere)
