"""A crash at every step of a submission by message, then a new process: the press has the ticket exactly once.

The same fuse as in ``test_crash_at_every_step``, and one more burn before and after each exchange with the press.
"""

from collections import deque
from pathlib import Path

import pytest

from tests.unit.daemon.press_bench import LANE, JmfBench, temporary_files
from tests.unit.flow.bench import BANNER
from tests.unit.flow.test_crash_at_every_step import Crash, Fuse, lay
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.store.records import DeliveryState


def live(bench: JmfBench, fuse: Fuse | None, patch: pytest.MonkeyPatch) -> Bridge:
    """One life of the process: rescue, take in what is dropped, talk with the press, until the fuse is burnt."""
    bridge: Bridge | None = None
    with patch.context() as patched:
        if fuse is not None:
            lay(fuse, patched)
            patched.setattr(bench.press, "before", fuse.burn)
        try:
            bridge = bench.restart()
            accept(
                bridge,
                [bench.claim(name) for name in bench.files(bench.source.drop) if name.endswith(".jdf")],
            )
            bench.talk(bench.line(bridge), 12)
        except Crash:
            pass
    if bridge is None:
        bridge = bench.start()
    bridge.store.close()
    return bridge


@pytest.mark.parametrize("first", range(56))
def test_after_a_crash_at_any_step_of_a_submission_the_press_has_the_ticket_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    bench = JmfBench(tmp_path / "shop")
    bench.drop(BANNER)
    bench.press.troubles = deque(["", "", "", "", ("", "lost", "deaf")[first % 3]])

    live(bench, Fuse(first), monkeypatch)
    live(bench, Fuse(first // 2 + 8), monkeypatch)
    live(bench, None, monkeypatch)

    assert [one.job_part_id for one in bench.press.entries] == ["1.Q000001"]
    assert temporary_files(bench.lane(LANE).tickets) == []
    with bench.start().store.transaction() as tx:
        delivery = tx.delivery("Q000001")
    assert delivery is not None
    assert delivery.state is DeliveryState.DELIVERED


def test_the_fuse_of_these_tests_reaches_to_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = JmfBench(tmp_path / "shop")
    bench.drop(BANNER)
    bench.press.troubles = deque(["", "", "", "", "lost"])
    fuse = Fuse(10_000)
    live(bench, fuse, monkeypatch)

    assert bench.press.entries
    assert 30 < fuse.touched <= 56
