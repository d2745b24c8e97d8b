"""Work shared with child processes is done all the same where a child does not do it."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from ticketbridge.extract.beside import CHUNK, Beside


def prepare() -> None:
    """Nothing takes long here."""


def doubled(numbers: Sequence[int]) -> list[int]:
    time.sleep(0.01)
    return [2 * number for number in numbers]


def with_process(numbers: Sequence[int]) -> list[tuple[int, int]]:
    time.sleep(0.02)
    return [(number, os.getpid()) for number in numbers]


def ended_in_a_child(arguments: Sequence[tuple[int, int]]) -> list[int]:
    for _, parent in arguments:
        if os.getpid() != parent:
            os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.02)
    return [number for number, _ in arguments]


def broken_at_seven(numbers: Sequence[int]) -> list[int]:
    if 7 in numbers:
        raise ValueError("seven")
    return list(numbers)


@pytest.fixture
def beside() -> Iterator[Beside]:
    beside = Beside(1, prepare)
    while not beside.ready:
        time.sleep(0.01)
    yield beside
    beside.close()


def test_what_is_given_comes_in_order_and_a_child_had_a_part_in_it(beside: Beside) -> None:
    given = beside.share(with_process, range(10 * CHUNK))

    assert [number for number, _ in given] == list(range(10 * CHUNK))
    processes = {process for _, process in given}
    assert os.getpid() in processes
    assert len(processes) == 2


def test_a_child_that_is_killed_at_its_work_leaves_nothing_undone(beside: Beside) -> None:
    numbers = [(number, os.getpid()) for number in range(6 * CHUNK)]

    assert beside.share(ended_in_a_child, numbers) == list(range(6 * CHUNK))
    assert beside.share(doubled, range(6 * CHUNK)) == list(range(0, 12 * CHUNK, 2))


def until_it_is_there(path: Path) -> None:
    while not path.exists():
        time.sleep(0.01)


def test_a_child_that_is_busy_with_what_can_wait_keeps_nobody_waiting(beside: Beside, tmp_path: Path) -> None:
    can_wait = beside.begin(beside.call, until_it_is_there, tmp_path / "over")
    while not can_wait.running():
        time.sleep(0.01)

    given = beside.share(with_process, range(3 * CHUNK))

    assert {process for _, process in given} == {os.getpid()}
    assert not can_wait.done()
    (tmp_path / "over").touch()
    can_wait.result(30)
    assert len({process for _, process in beside.share(with_process, range(10 * CHUNK))}) == 2


def test_what_fails_fails_for_whoever_asked(beside: Beside) -> None:
    with pytest.raises(ValueError, match="seven"):
        beside.share(broken_at_seven, range(6 * CHUNK))


def test_nobody_is_asked_where_no_children_are_wanted() -> None:
    beside = Beside()

    assert not beside.ready
    assert {process for _, process in beside.share(with_process, range(3 * CHUNK))} == {os.getpid()}


def test_whoever_asks_first_does_not_wait_for_children_to_start() -> None:
    beside = Beside(1, prepare)

    assert {process for _, process in beside.share(with_process, range(2 * CHUNK))} == {os.getpid()}

    beside.close()


def is_gone(process: int) -> bool:
    for _ in range(500):
        status = Path(f"/proc/{process}/status")
        if not status.exists() or "zombie" in status.read_text():
            return True
        time.sleep(0.01)
    return False


def test_closing_ends_the_children() -> None:
    beside = Beside(1, prepare)
    while not beside.ready:
        time.sleep(0.01)
    child = beside.begin(beside.call, os.getpid).result()

    beside.close()

    assert is_gone(child)


def test_children_of_a_process_that_was_killed_end_by_themselves() -> None:
    program = """
import os, time
from ticketbridge.extract.beside import Beside
beside = Beside(1, os.getpid)
while not beside.ready:
    time.sleep(0.01)
print(beside.begin(beside.call, os.getpid).result(), flush=True)
time.sleep(60)
"""
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE) as parent:
        assert parent.stdout is not None
        child = int(parent.stdout.readline())
        parent.kill()

    assert is_gone(child)


def seven_breaks_and_the_rest_is_noted(asked: Sequence[tuple[int, Path]]) -> list[int]:
    for number, folder in asked:
        if number == 7:
            raise ValueError("seven")
        time.sleep(0.02)
        (folder / f"{number}").touch()
    return [number for number, _ in asked]


def test_nothing_that_a_child_was_asked_for_goes_on_after_a_failure(beside: Beside, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="seven"):
        beside.share(seven_breaks_and_the_rest_is_noted, [(number, tmp_path) for number in range(4 * CHUNK)])

    noted = len(list(tmp_path.iterdir()))
    time.sleep(0.3)
    assert len(list(tmp_path.iterdir())) == noted > 7
