"""Two bridges on one store, each with its share: what one takes in the other hands over, and neither meddles."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.stores import chosen
from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.accept.claim import THIS_RUN, Claimed, split_attempts
from ticketbridge.accept.submitted import SUBMITTED, lay_down
from ticketbridge.demo.orders import ORDERS, artwork, ticket
from ticketbridge.flow.asked.retrying import retry
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.flow.intake.waiting import wake
from ticketbridge.flow.keep.rescue import rescue, rescue_claims, rescue_lane
from ticketbridge.flow.lane.preparing import Prepared, prepare
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.hand_over.deliver import hold_for, place
from ticketbridge.model.job_states import State
from ticketbridge.model.share import LANE, SOURCE, Share, lease_name
from ticketbridge.model.submission import Submission
from ticketbridge.spool.places import claimed_name
from ticketbridge.store.deliveries import DeliveryStatements
from ticketbridge.store.leases import Leases
from ticketbridge.store.opening import open_engine
from ticketbridge.store.records import Delivery, StateMoved

pytestmark = pytest.mark.store_shared

DESK = Share(frozenset({lease_name(SOURCE, "mis")}), "desk-1")
PRESS_ROOM = Share(frozenset(lease_name(LANE, lane) for lane in ("HL-P1-A", "HL-P1-B", "HL-P2-W")), "room-2")
BOARD = ORDERS[6]
LANE_A = "HL-P1-A"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


def bridge(bench: Bench, share: Share) -> Bridge:
    made = bench.start()
    made.share = share
    rescue(made, crashed=True)
    return made


def test_what_the_one_takes_in_the_other_hands_to_its_lane(bench: Bench) -> None:
    desk, room = bridge(bench, DESK), bridge(bench, PRESS_ROOM)

    accept(desk, [bench.claim(bench.drop(BANNER))])
    assert bench.files(bench.lane(LANE_A).tickets) == []
    release_waiting(desk)
    assert bench.files(bench.lane(LANE_A).tickets) == []

    release_waiting(room)
    assert bench.files(bench.lane(LANE_A).tickets) == ["Q000001.jdf"]


def between(monkeypatch: pytest.MonkeyPatch, act: Callable[[], None]) -> None:
    """Another bridge does this once, after the one that accepts has decided and before it commits."""
    waiting = [act]

    def then_prepare(*args: Any, **named: Any) -> Prepared:
        while waiting:
            waiting.pop()()
        return prepare(*args, **named)

    monkeypatch.setattr("ticketbridge.flow.intake.accepting.prepare", then_prepare)


def test_the_same_order_taken_in_by_both_at_one_moment_is_one_job_and_a_repeat(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, other = bridge(bench, DESK), bridge(bench, Share(DESK.names | PRESS_ROOM.names, "other-2"))
    name = bench.drop(BANNER)
    again = "again.jdf"
    (bench.source.drop / again).write_bytes((bench.source.drop / name).read_bytes())
    first, second = bench.claim(name), bench.claim(again)
    between(monkeypatch, lambda: accept(desk, [first]))

    assert accept(other, [second]) == []

    assert bench.files(bench.source.accepted) == [name]
    assert bench.files(bench.source.repeated) == [again]
    with desk.store.transaction() as tx:
        [job] = tx.all_jobs()
    release_waiting(other)
    lying = [path.name for path in bench.lane(LANE_A).tickets.glob("*.*") if path.suffix in (".jdf", ".tmp")]
    assert lying == [f"{job.queue_entry_id}.jdf"], "the ticket of the one that came too late is gone"


def test_a_revision_of_a_job_that_another_cancels_at_that_moment_is_decided_anew(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = bridge(bench, DESK)
    accept(desk, [bench.claim(bench.drop(BANNER))])

    def cancel() -> None:
        other = bridge(bench, Share(frozenset(), "other-2"))
        with other.store.transaction() as tx:
            tx.change_job(tx.standing("Q000001"), state=State.REMOVED)

    between(monkeypatch, cancel)
    bench.drop(replace(BANNER, quantity=BANNER.quantity + 1))

    assert accept(desk, [bench.claim(BANNER.file_name)]) == []

    with desk.store.transaction() as tx:
        states = [job.state for job in tx.all_jobs()]
    assert states == [State.REMOVED, State.WAITING]


def test_nobody_takes_in_what_another_has_claimed_or_put_to_wait(bench: Bench) -> None:
    bench.claim(bench.drop(BANNER))
    room = bridge(bench, PRESS_ROOM)

    assert wake(room) == []
    assert bench.files(bench.source.claimed) == [BANNER.file_name]

    bridge(bench, DESK)
    assert bench.files(bench.source.accepted) == [BANNER.file_name]


def test_a_sweep_takes_what_a_dead_run_has_claimed_and_leaves_what_is_in_hand(bench: Bench) -> None:
    desk = bridge(bench, DESK)
    mine = bench.claim(bench.drop(BANNER))
    run = mine.claim_id.split("-")[1]

    rescue_claims(desk, "mis", count=False, but_of_run=run)
    assert bench.files(bench.source.claimed) == [BANNER.file_name]

    rescue_claims(desk, "mis", count=False, but_of_run="another")
    assert bench.files(bench.source.accepted) == [BANNER.file_name]


def submitted_by(bench: Bench, run: str) -> str:
    """A ticket that a message brought to the bridge of this run, which has not committed it yet. Returns its claim."""
    (bench.source.drop / "art" / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
    claim_id = f"20261125T091500-{SUBMITTED}{run}-000001-1"
    path = bench.source.claimed / claimed_name(claim_id, BANNER.file_name)
    lay_down(Claimed("mis", claim_id, BANNER.file_name, path), ticket(BANNER), Submission("mis", "m1"))
    return claim_id


def test_what_a_message_brought_to_another_bridge_is_its_own_for_as_long_as_it_may_write(
    bench: Bench,
) -> None:
    desk = bridge(bench, DESK)
    other = Leases(open_engine(chosen().address(bench.folder), read_only=False), "room-0badcafe")
    other.join("room", 1, "0.1")
    submitted_by(bench, "0badcafe")

    rescue(desk, crashed=True, only=Share(DESK.names))
    rescue_claims(desk, "mis", count=False, but_of_run=THIS_RUN)
    assert bench.files(bench.source.claimed) == [BANNER.file_name]

    other.leave()
    rescue_claims(desk, "mis", count=False, but_of_run=THIS_RUN)
    assert bench.files(bench.source.accepted) == [BANNER.file_name]
    other.close()


def test_what_a_message_brought_here_is_put_right_here_though_another_serves_its_source(bench: Bench) -> None:
    desk, room = bridge(bench, DESK), bridge(bench, PRESS_ROOM)
    told: list[Submitted] = []
    room.awaited[split_attempts(submitted_by(bench, THIS_RUN))[0]] = told.append

    rescue_claims(desk, "mis", count=False, but_of_run=THIS_RUN)
    assert bench.files(bench.source.claimed) == [BANNER.file_name]

    rescue(room, crashed=False)  # as when the database is back
    assert bench.files(bench.source.accepted) == [BANNER.file_name]
    assert [one.queue_entry_ids for one in told] == [("Q000001",)]


def test_what_another_lays_into_a_lane_behind_the_back_of_one_that_stood_still_is_not_withdrawn(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    room, asked = bridge(bench, PRESS_ROOM), DeliveryStatements.deliveries
    taken_over = hold_for("Q000001", LANE_A, bench.lane(LANE_A), "room-3")

    def and_stand_still(tx: DeliveryStatements, device_id: str) -> list[Delivery]:
        found = asked(tx, device_id)
        place(taken_over, b"<JDF/>")
        return found

    monkeypatch.setattr(DeliveryStatements, "deliveries", and_stand_still)
    rescue_lane(room, LANE_A)

    assert (bench.lane(LANE_A).tickets / taken_over.temporary_name).exists()


def test_the_temporary_ticket_of_one_that_lost_the_lane_is_never_delivered(bench: Bench) -> None:
    """It lost the lane after the other had delivered: its file must not pass for the evidence of that delivery."""
    desk, room = bridge(bench, DESK), bridge(bench, PRESS_ROOM)
    accept(desk, [bench.claim(bench.drop(BANNER))])
    release_waiting(room)
    (bench.lane(LANE_A).tickets / "Q000001.jdf").unlink()  # the press took it
    late = hold_for("Q000001", LANE_A, bench.lane(LANE_A), "slow-0")
    place(late, b"<JDF/>")

    rescue_lane(room, LANE_A)

    assert bench.files(bench.lane(LANE_A).tickets) == []
    assert not (bench.lane(LANE_A).tickets / late.temporary_name).exists()


def test_what_a_dead_one_had_intended_is_delivered_by_the_next_under_the_name_it_was_given(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, room = bridge(bench, DESK), bridge(bench, PRESS_ROOM)
    accept(desk, [bench.claim(bench.drop(BANNER))])
    with monkeypatch.context() as dying:
        dying.setattr("ticketbridge.flow.lane.releasing.finish", lambda *_: None)
        release_waiting(room)
    assert bench.files(bench.lane(LANE_A).tickets) == []

    bridge(bench, Share(PRESS_ROOM.names, "room-3"))

    assert bench.files(bench.lane(LANE_A).tickets) == ["Q000001.jdf"]


def test_a_job_that_was_cancelled_meanwhile_is_not_handed_over(bench: Bench) -> None:
    desk, room = bridge(bench, DESK), bridge(bench, PRESS_ROOM)
    accept(desk, [bench.claim(bench.drop(BANNER))])
    with room.store.transaction() as tx:
        seen = tx.standing("Q000001")
    with desk.store.transaction() as tx:
        tx.change_job(seen, state=State.REMOVED)

    with pytest.raises(StateMoved), room.store.transaction() as tx:
        tx.mark_given(["Q000001"])


def test_a_job_that_was_handed_over_meanwhile_is_not_cancelled_as_if_it_still_waited(bench: Bench) -> None:
    desk, room = bridge(bench, DESK), bridge(bench, PRESS_ROOM)
    accept(desk, [bench.claim(bench.drop(BANNER))])
    with desk.store.transaction() as tx:
        seen = tx.standing("Q000001")
    release_waiting(room)

    with pytest.raises(StateMoved), desk.store.transaction() as tx:
        tx.change_job(seen, state=State.REMOVED)


def refused_board(bench: Bench) -> Bridge:
    desk = bridge(bench, DESK)
    accept(desk, [bench.claim(bench.drop(BOARD))])
    assert BOARD.file_name in bench.files(bench.source.refused)
    return bridge(bench, PRESS_ROOM)


def test_a_refused_ticket_of_another_s_source_is_put_back_into_its_drop_folder(bench: Bench) -> None:
    room = refused_board(bench)

    [finding] = retry(room, [BOARD.file_name])

    assert finding.code == "request.dropped-again"
    assert BOARD.file_name in bench.files(bench.source.drop)
    assert bench.files(bench.source.refused) == []
    assert [one.code for one in retry(room, [BOARD.file_name])] == ["request.nothing-refused"]


def test_a_newer_file_of_that_name_in_the_drop_folder_is_not_written_over(bench: Bench) -> None:
    room = refused_board(bench)
    (bench.source.drop / BOARD.file_name).write_bytes(b"newer")

    [finding] = retry(room, [BOARD.file_name])

    assert finding.code == "request.drop-taken"
    assert (bench.source.drop / BOARD.file_name).read_bytes() == b"newer"
    assert BOARD.file_name in bench.files(bench.source.refused)
