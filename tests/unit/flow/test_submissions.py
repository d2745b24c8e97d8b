"""A submitted ticket and a crash at every step: what the message said is not forgotten, and nothing is made twice."""

from pathlib import Path

import pytest

from tests.unit.flow.bench import BANNER, Bench
from tests.unit.flow.test_crash_at_every_step import Fuse, play
from ticketbridge.accept.claim import Claimer
from ticketbridge.accept.submitted import RESUBMITTED, SUBMITTED, lay_down
from ticketbridge.demo.orders import artwork, ticket
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.model.job_states import State
from ticketbridge.model.submission import Submission

HELD = Submission("mis", "c1", priority=91, hold=True, return_url="http://127.0.0.1/back")


def lay(bench: Bench, bridge: Bridge, data: bytes, submission: Submission) -> tuple[object, list[Submitted]]:
    run = SUBMITTED if submission.resubmits is None else RESUBMITTED
    claimed = Claimer("mis", bench.source, run).name("c1.jdf", bridge.now())
    lay_down(claimed, data, submission)
    said: list[Submitted] = []
    bridge.awaited[claimed.claim_id.rpartition("-")[0]] = said.append
    return claimed, said


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    (bench.source.drop / "art" / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
    return bench


@pytest.mark.parametrize("first", range(24))
def test_after_a_crash_at_any_step_a_submitted_ticket_is_held_once_as_its_message_said(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    said: list[Submitted] = []

    def take(bridge: Bridge) -> None:
        claimed, told = lay(bench, bridge, ticket(BANNER), HELD)
        try:
            accept(bridge, [claimed])
        finally:
            said.extend(told)

    play(bench, Fuse(first), monkeypatch, take)
    promised = list(said)
    play(bench, None, monkeypatch, lambda _bridge: None)
    with bench.start().store.transaction() as tx:
        jobs = tx.all_jobs()
        kept = [tx.submission(tx.job(job.queue_entry_id).claim_id) for job in jobs]
    assert [(job.state, job.priority) for job in jobs] in ([], [(State.HELD, 91)])
    assert kept in ([], [HELD])
    if promised:
        assert promised[0].queue_entry_ids == tuple(job.queue_entry_id for job in jobs), "a promise is kept"

    play(bench, None, monkeypatch, take)
    with bench.start().store.transaction() as tx:
        [job] = tx.all_jobs()
    assert (job.state, job.priority) == (State.HELD, 91)
    assert said[-1].queue_entry_ids == (job.queue_entry_id,)
    assert bench.files(bench.source.claimed) == []
    assert len(bench.files(bench.source.accepted)) == 1


@pytest.mark.parametrize("first", range(20))
def test_after_a_crash_at_any_step_of_a_resubmission_the_entry_has_the_old_or_the_new_ticket(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bridge = bench.restart()
    accept(bridge, [lay(bench, bridge, ticket(BANNER), HELD)[0]])
    bridge.store.close()
    other = ticket(BANNER).replace(b'Amount="3"', b'Amount="4"')
    again = Submission("mis", "c2", resubmits="Q000001")

    play(
        bench, Fuse(first), monkeypatch, lambda bridge: accept(bridge, [lay(bench, bridge, other, again)[0]])
    )
    play(bench, None, monkeypatch, lambda bridge: accept(bridge, [lay(bench, bridge, other, again)[0]]))

    with bench.start().store.transaction() as tx:
        [job] = tx.all_jobs()
        assert (job.queue_entry_id, job.quantity, job.state, job.priority) == ("Q000001", 4, State.HELD, 91)
        assert tx.job("Q000001").claim_id
    assert bench.files(bench.source.claimed) == []
