"""Every piece of shared work is done, and none of it goes on behind the back of whoever asked."""

import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.extract.shared_work import SharedWork


def doubled(number: int) -> int:
    return 2 * number


@given(st.integers(0, 40), st.integers(0, 3), st.sets(st.integers(0, 39)))
def test_what_every_piece_gives_comes_in_order_whoever_did_it_and_whatever_failed(
    count: int, helpers: int, failing: set[int]
) -> None:
    work: SharedWork[int, int] = SharedWork(range(count))

    def fragile(number: int) -> int:
        if number in failing:
            raise OSError(number)
        return doubled(number)

    with ThreadPoolExecutor(4) as threads:
        helping = [threads.submit(work.help, fragile) for _ in range(helpers)]
        work.do(doubled)
        assert work.all_given(doubled) == [doubled(number) for number in range(count)]
    assert all(one.result() is None for one in helping)


def test_no_piece_is_done_twice_where_nothing_fails() -> None:
    done: list[int] = []
    work: SharedWork[int, None] = SharedWork(range(500))

    with ThreadPoolExecutor(3) as threads:
        for _ in range(3):
            threads.submit(work.help, done.append)
        work.do(done.append)
    work.all_given(done.append)

    assert sorted(done) == list(range(500))


@pytest.mark.parametrize("fails", [False, True], ids=["to its end", "to a failure"])
def test_whoever_asked_goes_on_only_when_helpers_are_at_nothing(*, fails: bool) -> None:
    work: SharedWork[int, int] = SharedWork(range(10))
    helping, ended = threading.Event(), threading.Event()

    def slowly(number: int) -> int:
        helping.set()
        time.sleep(0.2)
        ended.set()
        return number

    def here(number: int) -> int:
        helping.wait(10)
        if fails:
            raise ValueError(number)
        return number

    helper = threading.Thread(target=work.help, args=(slowly,))
    helper.start()
    if fails:
        with pytest.raises(ValueError, match="0"):
            work.do(here)
    else:
        work.do(here)

    assert ended.is_set()
    helper.join(10)
    assert not helper.is_alive()
