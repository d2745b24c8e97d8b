"""One file, one lost substrate, one missing share stops nothing else."""

from pathlib import Path

import pytest

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep.rescue import rescue_claims
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.spool import durable


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def test_a_file_without_rights_to_read_then_with_them(
    bench: Bench, bridge: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_right(path: Path, limit_bytes: int) -> bytes:
        raise PermissionError(13, "Permission denied")

    closed, good = bench.claim(bench.drop(BANNER)), bench.claim(bench.drop(CANVAS))
    reading = durable.read_and_sync
    monkeypatch.setattr(
        durable,
        "read_and_sync",
        lambda path, limit: (no_right if path == closed.path else reading)(path, limit),
    )
    accept(bridge, [closed, good])
    monkeypatch.undo()

    assert bench.files(bench.source.accepted) == [CANVAS.file_name]
    assert bench.files(bench.source.refused) == [BANNER.file_name, f"{BANNER.file_name}.findings.txt"]
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    assert bench.files(bench.source.accepted) == [BANNER.file_name, CANVAS.file_name]


def test_a_file_that_was_taken_in_meanwhile_is_passed_over(bench: Bench, bridge: Bridge) -> None:
    claimed = bench.claim(bench.drop(BANNER))
    accept(bridge, [claimed])

    assert accept(bridge, [claimed]) == []
    with bridge.store.transaction() as tx:
        assert len(tx.all_jobs()) == 1


def test_a_source_that_is_not_mounted_keeps_nobody_waiting_and_is_rescued_when_it_is_back(
    bench: Bench,
) -> None:
    claimed = bench.claim(bench.drop(BANNER))
    marker = bench.source.claimed / ".ticketbridge"
    marker.unlink()
    bridge = bench.restart()

    assert bridge.unfinished_sources == {"mis"}
    marker.touch()
    rescue_claims(bridge, "mis", count=False)
    assert bridge.unfinished_sources == set()
    assert bench.files(bench.source.accepted) == [claimed.original_name]


def test_a_job_whose_substrate_the_catalogue_has_lost_waits_and_the_others_go(
    bench: Bench, bridge: Bridge
) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    accept(bridge, [bench.claim(bench.drop(BANNER)), bench.claim(bench.drop(CANVAS))])
    whole = bridge.shop
    left = {name: one for name, one in whole.substrates.items() if name != "BAN510"}
    bridge.use(whole.model_copy(update={"substrates": left}))
    bridge.unfinished_lanes.clear()

    release_waiting(bridge)
    assert given(bridge) == {BANNER.job_id: False, CANVAS.job_id: True}

    bridge.use(whole)
    release_waiting(bridge)
    assert given(bridge) == {BANNER.job_id: True, CANVAS.job_id: True}


def given(bridge: Bridge) -> dict[str, bool]:
    with bridge.store.transaction() as tx:
        return {job.job_id: job.given for job in tx.all_jobs()}
