"""A share that hangs holds up what needs it and nothing else, and nothing is lost or goes twice when it answers again.

Each call that hangs is one of ``spool.durable``, made by the real flow in its real loop. A press stands at the lanes
and takes what it sees at once, so a ticket that goes twice is counted twice.
"""

import os
import sys
import threading
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from queue import Queue

import pytest

from tests.hanging import Hang, hang
from tests.unit.flow.bench import BANNER, Bench, counter_line, press_returns, status_jmf
from ticketbridge.accept import artwork
from ticketbridge.accept.claim import Claimed, Claimer
from ticketbridge.daemon import clock
from ticketbridge.daemon.flow_loop import FlowLoop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.lane_loop import LaneLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.demo.orders import ORDERS, DemoOrder
from ticketbridge.model.share import LANE, SOURCE, lease_name
from ticketbridge.spool import gates
from ticketbridge.spool.gate import Gate
from ticketbridge.store.store import open_view

HANGING, OTHER = "HL-P1-A", "HL-P2-W"
WIDE = ORDERS[2]
"""Only the wide press can print it."""
ANSWER_S = 0.4


class Press:
    """Takes every ticket the moment it sees it, and remembers nothing but that."""

    def __init__(self, bench: Bench) -> None:
        self.taken: Counter[str] = Counter()
        self.tickets: dict[str, bytes] = {}
        self.lanes: set[str] = set()
        self._bench = bench
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._stand, daemon=True)
        self._thread.start()

    def _stand(self) -> None:
        while not self._over.wait(0.005):
            for lane in (HANGING, OTHER):
                folder = self._bench.lane(lane).tickets
                for name in os.listdir(folder):
                    if not name.startswith("."):
                        self.tickets[name] = (folder / name).read_bytes()
                        (folder / name).unlink()
                        self.taken[name] += 1
                        self.lanes.add(lane)

    def leave(self) -> None:
        self._over.set()
        self._thread.join(10)


class Shop:
    """A bench whose flow turns in a thread, with a press, and a LaneLoop at the lane that will hang."""

    def __init__(self, folder: Path) -> None:
        self.bench = Bench(folder)
        presses = folder / "presses.yaml"  # a press that takes tickets at once has all that wait
        presses.write_text(presses.read_text().replace("ahead: 1", "ahead: 0"))
        self.heartbeats = Heartbeats(clock.monotonic, limit_s=3.0)
        self.start()

    def start(self) -> None:
        ready: Queue[FlowLoop] = Queue()

        def run() -> None:
            bridge = self.bench.restart()
            for box in (bridge.places.requests, bridge.places.replies):
                box.mkdir(exist_ok=True)
            loop = FlowLoop(bridge, lambda: None, Notices(), self.heartbeats)
            ready.put(loop)
            loop.run()
            bridge.store.close()

        self.thread = threading.Thread(target=run, daemon=True)
        self.thread.start()
        self.loop = ready.get(timeout=30)
        self.press = Press(self.bench)
        self.listener = LaneLoop(
            HANGING,
            self.bench.lane(HANGING),
            self.loop.from_presses,
            self.loop.wake,
            Notices(),
            self.heartbeats,
        )

    def stop(self) -> None:
        self.listener.stop()
        self.loop.stop()
        self.thread.join(60)
        stands_at = traceback.format_stack(sys._current_frames().get(self.thread.ident or 0))
        assert not self.thread.is_alive(), "".join(stands_at)
        self.press.leave()

    def order(self, number: int, like: DemoOrder = BANNER) -> str:
        order = replace(like, job_id=f"HL-{number}", file_name=f"{number}.jdf")
        self.loop.claimed.put(self.bench.claim(self.bench.drop(order)))
        self.loop.wake()
        return f"{number}.jdf"

    def notices(self, code: str) -> int:
        return [event for event, _ in self.bench.notices].count(code)

    def accepted(self) -> list[str]:
        return self.bench.files(self.bench.source.accepted)

    def states(self) -> dict[str, str]:
        view = open_view(self.loop._bridge.places.database)
        with view.transaction() as tx:
            found = {job.queue_entry_id: job.state.value for job in tx.all_jobs()}
        view.close()
        return found


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    gates.forget_all()
    shop = Shop(tmp_path / "shop")
    yield shop
    shop.stop()
    gates.forget_all()


def guard_lane(shop: Shop) -> Gate:
    return gates.guard(lease_name(LANE, HANGING), [shop.bench.lane(HANGING).folder], ANSWER_S)


def guard_source(shop: Shop) -> Gate:
    return gates.guard(lease_name(SOURCE, "mis"), [shop.bench.source.folder], ANSWER_S)


def until(true: Callable[[], bool], what: str, patience_s: float = 30.0) -> None:
    until_s = time.monotonic() + patience_s
    while not true():
        assert time.monotonic() < until_s, f"waited in vain until {what}"
        time.sleep(0.01)


CALLS = ["require_ready", "write_and_sync", "sync_folder", "move"]
"""Every call that the way of a ticket into its lane makes."""


@pytest.mark.parametrize("after", [False, True], ids=["works-late", "answers-late"])
@pytest.mark.parametrize("call", CALLS)
def test_wherever_a_lane_s_share_hangs_the_others_go_on_and_its_ticket_goes_once(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, call: str, after: bool
) -> None:
    guard_lane(shop)
    made = hang(monkeypatch, call, Hang(shop.bench.lane(HANGING).folder, after))
    first = shop.order(1)
    until(made.begun.is_set, "the lane hangs")
    until(lambda: shop.notices("share.hangs") == 1, "it is told")

    other = shop.order(2, WIDE)
    until(lambda: other in shop.accepted(), "what comes for another lane is taken in")
    until(lambda: OTHER in shop.press.lanes, "another lane is served")
    third = shop.order(3)
    until(lambda: third in shop.accepted(), "what comes for the lane that hangs is taken in and waits")
    assert shop.heartbeats.late(gates.held_threads()) == []

    made.let_go()
    until(lambda: shop.notices("share.answers") == 1, "it is told that it answers")
    until(lambda: len(shop.press.taken) == 3, f"all three are at their presses, not {shop.press.taken}")
    time.sleep(0.3)
    assert set(shop.press.taken.values()) == {1}
    assert {first, other, third} <= set(shop.accepted())
    assert not [name for name in os.listdir(shop.bench.lane(HANGING).tickets) if name.endswith(".tmp")]
    assert shop.notices("share.hangs") == 1


def test_a_rename_that_reports_failure_late_and_has_worked_gives_the_ticket_once(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    guard_lane(shop)
    fault = OSError(5, "Input/output error")
    made = hang(monkeypatch, "move", Hang(shop.bench.lane(HANGING).folder, True, fault))
    shop.order(1)
    until(lambda: shop.notices("share.hangs") == 1, "it is told")
    made.let_go()
    until(lambda: shop.notices("share.answers") == 1, "it answers")
    shop.order(2)
    until(lambda: len(shop.press.taken) == 2, "both are at the press")
    time.sleep(0.3)
    assert set(shop.press.taken.values()) == {1}


@pytest.mark.parametrize("after", [False, True], ids=["works-late", "answers-late"])
@pytest.mark.parametrize("call", CALLS)
def test_a_bridge_that_ends_while_its_lane_hangs_gives_the_ticket_once_after_its_next_start(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, call: str, after: bool
) -> None:
    guard_lane(shop)
    made = hang(monkeypatch, call, Hang(shop.bench.lane(HANGING).folder, after))
    shop.order(1)
    until(made.begun.is_set, "the lane hangs")
    until(lambda: shop.notices("share.hangs") == 1, "it is told")
    shop.stop()
    made.let_go()  # what a server still had in its queue happens now
    time.sleep(0.1)
    gates.forget_all()
    before = shop.press.taken
    shop.start()
    shop.loop.wake()
    until(lambda: len(before + shop.press.taken) == 1, "the ticket is at its press")
    time.sleep(0.3)
    assert set((before + shop.press.taken).values()) == {1}


@pytest.mark.parametrize("call", ["require_ready", "_read"])
def test_a_lane_that_hangs_while_it_is_listened_to_is_heard_when_it_answers_again(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    guard_lane(shop)
    shop.order(1)
    until(lambda: len(shop.press.taken) == 1, "the press has the first")
    made = hang(monkeypatch, call, Hang(shop.bench.lane(HANGING).folder))
    lane = shop.bench.lane(HANGING)
    (lane.status / "1.jmf").write_bytes(status_jmf(HANGING, ("HL-1", "1.Q000001"), "InProgress", 1, 3, "m1"))
    shop.heartbeats.beat(shop.listener.name)
    shop.listener.start()
    until(lambda: shop.notices("share.hangs") == 1, "the lane's own thread is the evidence")
    shop.order(2)
    shop.order(3, WIDE)
    until(lambda: OTHER in shop.press.lanes, "another lane is served")
    until(lambda: shop.heartbeats.late() != [], "the thread has stood for longer than it may")
    assert shop.heartbeats.late() == [shop.listener.name]
    assert shop.heartbeats.late(gates.held_threads()) == []  # so the watchdog is not silent for it

    made.let_go()
    until(lambda: shop.states().get("Q000001") == "Running", "what the press said is followed")
    until(lambda: len(shop.press.taken) == 3, "the second has gone")
    assert set(shop.press.taken.values()) == {1}


def test_what_a_press_wrote_is_followed_once_where_moving_it_away_hangs(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    guard_lane(shop)
    shop.order(1)
    until(lambda: len(shop.press.taken) == 1, "the press has it")
    lane = shop.bench.lane(HANGING)
    made = hang(monkeypatch, "move", Hang(lane.folder))
    (lane.status / "1.jmf").write_bytes(status_jmf(HANGING, ("HL-1", "1.Q000001"), "InProgress", 1, 3, "m1"))
    shop.listener.start()
    until(lambda: shop.notices("share.hangs") == 1, "it hangs")
    assert shop.states()["Q000001"] == "Running"
    made.let_go()
    until(lambda: [name for name in os.listdir(lane.followed) if name == "1.jmf"] != [], "it is moved")
    until(lambda: not (lane.status / "1.jmf").exists(), "it is gone from where the press put it")
    assert shop.bench.files(lane.followed) == ["1.jmf"]


def test_a_returned_ticket_waits_for_the_share_of_the_mis_and_holds_up_no_other_job(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    guard_source(shop)
    shop.order(1)
    until(lambda: len(shop.press.taken) == 1, "the press has it")
    made = hang(monkeypatch, "show_new", Hang(shop.bench.source.returned))
    lane = shop.bench.lane(HANGING)
    [ticket] = shop.press.tickets.values()
    (lane.returned / "Q000001.jdf").write_bytes(press_returns(ticket))
    shop.listener.start()
    until(lambda: shop.notices("share.hangs") == 1, "the share of the MIS hangs")

    shop.bench.drop_lines("c.csv", counter_line("C-1"))
    shop.loop.claimed.put(shop.bench.claim("c.csv", at="counter"))
    shop.loop.wake()
    until(lambda: len(shop.press.taken) == 2, "a ticket of another source goes its way")
    assert shop.states()["Q000001"] != "Completed"

    made.let_go()
    until(lambda: shop.states()["Q000001"] == "Completed", "it is returned")
    assert (shop.bench.source.returned / "Q000001.jdf").exists()


@pytest.mark.parametrize("after", [False, True], ids=["works-late", "answers-late"])
@pytest.mark.parametrize("call", ["_read", "sync_folder", "size", "move"])
def test_wherever_a_source_s_share_hangs_the_others_go_on_and_its_file_is_taken_once(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, call: str, after: bool
) -> None:
    guard_source(shop)
    made = hang(monkeypatch, call, Hang(shop.bench.source.claimed, after))
    name = shop.bench.drop(replace(BANNER, job_id="HL-1", file_name="1.jdf"))
    claimed = shop.bench.claim(name) if call != "move" else _claimed_by_hand(shop, name)
    shop.loop.claimed.put(claimed)
    shop.loop.wake()
    until(lambda: shop.notices("share.hangs") == 1, "it hangs")

    shop.bench.drop_lines("c.csv", counter_line("C-1"))
    shop.loop.claimed.put(shop.bench.claim("c.csv", at="counter"))
    shop.loop.wake()
    until(lambda: shop.bench.files(shop.bench.counter.accepted) == ["c.csv"], "another source is served")

    made.let_go()
    until(lambda: shop.accepted() == ["1.jdf"], "the file is taken in")
    until(lambda: len(shop.press.taken) == 2, "both are at their presses")
    time.sleep(0.3)
    assert set(shop.press.taken.values()) == {1}
    assert shop.bench.files(shop.bench.source.claimed) == []
    assert len(shop.states()) == 2


def _claimed_by_hand(shop: Shop, name: str) -> Claimed:
    """A claim whose rename does not go through the call that hangs."""
    claimed = Claimer("mis", shop.bench.source).name(name, next(shop.bench.clock))
    os.rename(shop.bench.source.drop / name, claimed.path)
    return claimed


def test_a_ticket_whose_artwork_lies_on_a_share_that_hangs_is_not_refused_but_waits(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    gates.guard("artwork art", [shop.bench.source.drop / "art"], ANSWER_S)
    made = Hang(shop.bench.source.drop / "art")
    real = artwork.hash_of.__wrapped__  # type: ignore[attr-defined]
    monkeypatch.setattr(artwork, "hash_of", gates.asked(made.of(real)))
    shop.order(1)
    until(lambda: shop.notices("share.hangs") == 1, "it hangs")
    shop.bench.drop_lines("c.csv", counter_line("C-1"))
    shop.loop.claimed.put(shop.bench.claim("c.csv", at="counter"))
    shop.loop.wake()
    until(lambda: shop.bench.files(shop.bench.counter.accepted) == ["c.csv"], "another source is served")
    assert shop.bench.files(shop.bench.source.refused) == []

    made.let_go()
    until(lambda: shop.accepted() == ["1.jdf"], "the ticket is taken in")
    assert shop.bench.files(shop.bench.source.refused) == []


def test_a_ticket_for_another_lane_that_lay_ready_when_a_source_hung_goes_at_once(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found again at the start, so that it is taken in one by one: the counter's job waits behind the file that hangs."""
    guard_source(shop)
    shop.loop._bridge.unfinished_lanes.add(OTHER)  # it waits, until the step that hangs
    made = hang(monkeypatch, "move", Hang(shop.bench.source.claimed))
    name = shop.bench.drop(replace(WIDE, job_id="HL-1", file_name="1.jdf"))
    _claimed_by_hand(shop, name)
    shop.bench.drop_lines("c.csv", counter_line("C-1"))
    shop.loop.claimed.put(shop.bench.claim("c.csv", at="counter"))
    shop.loop._bridge.unfinished_sources.add("mis")
    shop.loop.wake()
    until(lambda: shop.notices("share.hangs") == 1, "the source hangs")
    until(lambda: len(shop.press.taken) == 1, "the job of the other source goes")
    made.let_go()
    until(lambda: len(shop.press.taken) == 2, "the job of the source that hung goes")
    time.sleep(0.3)
    assert set(shop.press.taken.values()) == {1}


def test_a_bridge_ends_in_order_while_a_lane_hangs(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    guard_lane(shop)
    made = hang(monkeypatch, "write_and_sync", Hang(shop.bench.lane(HANGING).folder))
    shop.order(1)
    until(lambda: shop.notices("share.hangs") == 1, "it hangs")
    begun_s = time.monotonic()
    shop.loop.stop()
    shop.thread.join(10)
    assert not shop.thread.is_alive()
    assert time.monotonic() - begun_s < 5
    made.let_go()
