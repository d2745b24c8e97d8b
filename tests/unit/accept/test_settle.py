"""When a dropped file counts as whole."""

from dataclasses import dataclass, field

import pytest

from ticketbridge.accept.settle import Look, Settled, SettleTracker

SMALL, GROWN = Look(10, 1, 7), Look(20, 2, 7)


@dataclass
class Ends:
    """Files whose end can be seen."""

    names: set[str] = field(default_factory=set)

    def __call__(self, name: str) -> bool:
        return name in self.names


def tracker(ends: Ends) -> SettleTracker:
    return SettleTracker(quiet_s=2, patience_s=30, is_whole=ends)


def test_a_vouched_file_with_its_end_is_settled_at_once() -> None:
    assert tracker(Ends({"a"})).event("a", SMALL, 0) == Settled("a", whole=True)


def test_a_vouched_file_without_its_end_waits_and_is_settled_when_the_end_is_there() -> None:
    ends = Ends()
    watched = tracker(ends)

    assert watched.event("a", SMALL, 0) is None
    assert watched.scan([("a", SMALL)], 1) == []
    ends.names.add("a")
    assert watched.scan([("a", SMALL)], 2) == [Settled("a", whole=True)]


def test_a_file_that_no_event_vouches_for_must_be_quiet_over_two_looks() -> None:
    watched = tracker(Ends({"a"}))

    assert watched.scan([("a", SMALL)], 0) == []
    assert watched.scan([("a", SMALL)], 1) == []
    assert watched.scan([("a", SMALL)], 2) == [Settled("a", whole=True)]


def test_a_writer_that_pauses_and_goes_on_starts_the_quiet_time_anew() -> None:
    watched = tracker(Ends({"a"}))
    watched.scan([("a", SMALL)], 0)

    assert watched.scan([("a", GROWN)], 2.5) == []
    assert watched.scan([("a", GROWN)], 4) == []
    assert watched.scan([("a", GROWN)], 4.5) == [Settled("a", whole=True)]


def test_a_file_whose_end_never_comes_is_handed_on_as_not_whole_after_the_patience() -> None:
    watched = tracker(Ends())
    watched.event("a", SMALL, 0)

    assert watched.scan([("a", SMALL)], 29) == []
    assert watched.scan([("a", SMALL)], 30) == [Settled("a", whole=False)]


def test_a_file_that_is_gone_is_forgotten_and_starts_anew_when_it_comes_back() -> None:
    watched = tracker(Ends({"a"}))
    watched.scan([("a", SMALL)], 0)
    watched.scan([], 1)

    assert watched.waiting == 0
    assert watched.scan([("a", SMALL)], 2) == []


def test_another_file_under_the_same_name_starts_anew() -> None:
    watched = tracker(Ends({"a"}))
    watched.scan([("a", SMALL)], 0)

    assert watched.scan([("a", Look(10, 1, 8))], 2.5) == []


@pytest.mark.parametrize("mtime_ns", [0, -(10**18), 4 * 10**18])
def test_a_file_whose_time_lies_anywhere_is_settled_all_the_same(mtime_ns: int) -> None:
    watched = tracker(Ends({"a"}))
    look = Look(10, mtime_ns, 7)

    assert [watched.scan([("a", look)], at_s) for at_s in (0, 1)] == [[], []]
    assert watched.scan([("a", look)], 2.5) == [Settled("a", whole=True)]
