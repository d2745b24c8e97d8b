"""Files of the next batch are read while one is decided; what becomes of them is the same."""

import os
import shutil
import signal
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.accept.claim import Claimed
from ticketbridge.extract.beside import Beside
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.children import get_ready
from ticketbridge.flow.intake import reading
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.reading import read_ahead
from ticketbridge.flow.keep.rescue import rescue_claims


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Iterator[Bridge]:
    bridge = bench.restart()
    bridge.beside = Beside(1, get_ready)
    while not bridge.beside.ready:
        time.sleep(0.01)
    yield bridge
    bridge.beside.close()


def claims(bench: Bench, count: int) -> list[Claimed]:
    """So many good tickets, and one that is no XML at all."""
    names = [
        bench.drop(replace(BANNER, job_id=f"HL-{number}", file_name=f"{number}.jdf"))
        for number in range(count)
    ]
    (bench.source.drop / "broken.jdf").write_bytes(b"<JDF")
    return [bench.claim(name) for name in [*names, "broken.jdf"]]


def taken_in(bench: Bench, bridge: Bridge) -> tuple[list[str], list[str], list[str]]:
    """JobIDs in the store, and what lies in ``accepted`` and ``refused``."""
    with bridge.store.transaction() as tx:
        jobs = [job.job_id for job in tx.all_jobs()]
    return jobs, bench.files(bench.source.accepted), bench.files(bench.source.refused)


def test_what_was_read_ahead_is_not_read_again_and_comes_to_the_same(
    bench: Bench, bridge: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = claims(bench, 20)
    ahead = read_ahead(bridge, batch)
    for begun in ahead.chunks:
        begun.found.result()
    monkeypatch.setattr(reading, "orders_in", lambda *_: pytest.fail("read again"))

    assert accept(bridge, batch, ahead) == []

    jobs, accepted, refused = taken_in(bench, bridge)
    assert jobs == [f"HL-{number}" for number in range(20)]
    assert len(accepted) == 20
    assert [name for name in refused if name.endswith(".jdf")] == ["broken.jdf"]


def test_files_are_taken_in_the_order_in_which_they_came_whoever_has_read_them(
    bench: Bench, bridge: Bridge
) -> None:
    batch = claims(bench, 6)
    ahead = read_ahead(bridge, batch[1::2])

    readings = reading.read_all(bridge, batch, ahead)

    assert [one.taken.claimed for one in readings] == batch


def test_a_shop_changed_meanwhile_reads_them_anew(bench: Bench, bridge: Bridge) -> None:
    batch = claims(bench, 3)
    ahead = read_ahead(bridge, batch)
    bridge.use(bridge.shop.model_copy())
    again = []
    real = reading.orders_in

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(
            reading, "orders_in", lambda *args: again.append(args[0].claimed.original_name) or real(*args)
        )
        accept(bridge, batch, ahead)

    assert sorted(again) == ["0.jdf", "1.jdf", "2.jdf", "broken.jdf"]
    assert len(taken_in(bench, bridge)[0]) == 3


def test_a_file_that_a_rescue_took_in_meanwhile_is_passed_over(bench: Bench, bridge: Bridge) -> None:
    batch = claims(bench, 3)
    ahead = read_ahead(bridge, batch)
    for begun in ahead.chunks:
        begun.found.result()
    rescue_claims(bridge, "mis", count=False)
    before = taken_in(bench, bridge)

    accept(bridge, batch, ahead)

    assert taken_in(bench, bridge) == before
    assert len(before[0]) == 3


def test_a_child_that_dies_at_a_file_leaves_it_to_the_bridge(bench: Bench, bridge: Bridge) -> None:
    batch = claims(bench, 20)
    child = bridge.beside.begin(bridge.beside.call, os.getpid).result()
    ahead = read_ahead(bridge, batch)
    os.kill(child, 9)

    accept(bridge, batch, ahead)

    assert len(taken_in(bench, bridge)[0]) == 20


def test_a_file_whose_disk_is_at_fault_is_nobody_s_ticket(bench: Bench, bridge: Bridge) -> None:
    batch = claims(bench, 2)
    shutil.move(batch[0].path, bench.folder / "kept")
    batch[0].path.symlink_to(batch[0].path)  # goes round in a circle: what a single file can be at fault for

    accept(bridge, batch, read_ahead(bridge, batch))

    jobs, _, refused = taken_in(bench, bridge)
    assert jobs == ["HL-1"]
    assert any(name.startswith("0.jdf") for name in refused)


def test_a_child_that_is_held_for_ever_is_not_waited_for(
    bench: Bench, bridge: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "LIMIT_S", 0.2)
    batch = claims(bench, 3)
    child = bridge.beside.begin(bridge.beside.call, os.getpid).result()
    os.kill(child, signal.SIGSTOP)
    try:
        accept(bridge, batch, read_ahead(bridge, batch))
    finally:
        os.kill(child, signal.SIGCONT)

    assert len(taken_in(bench, bridge)[0]) == 3
