"""What a crash leaves of packages is taken away at the next start, and nothing else."""

import os
import time
from pathlib import Path

import pytest

from tests.unit.daemon.http.office import listen, serving, submit
from tests.unit.flow.bench import Bench
from ticketbridge.daemon.http.desk import Busy, Desk
from ticketbridge.daemon.http.receiving import ABOUT_TO_S, PACKAGE, RECEIVING, sweep_packages
from ticketbridge.model.jmf_partner import JmfLimits
from ticketbridge.model.share import SOURCE, Share, lease_name


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    listen(bench.folder)
    return bench


def packages(bench: Bench) -> list[str]:
    return sorted(folder.name for folder in bench.source.artwork.glob(f"{PACKAGE}*"))


def age(bench: Bench) -> None:
    """As if the crash had been a while ago."""
    for folder in bench.source.artwork.glob(f"{PACKAGE}*"):
        long_ago_s = folder.stat().st_mtime - 2 * ABOUT_TO_S
        os.utime(folder, (long_ago_s, long_ago_s))


def left_over(bench: Bench, digit: str) -> Path:
    folder = bench.source.artwork / f"{PACKAGE}{digit * 16}"
    folder.mkdir()
    (folder / "002-art.pdf").write_bytes(b"%PDF")
    return folder


def start_again(bench: Bench) -> None:
    with serving(bench):
        pass


def test_a_package_whose_ticket_was_never_laid_down_goes(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    with serving(bench) as office, monkeypatch.context() as killed:
        killed.setattr(Desk, "hand_in", lambda *_: 1 / 0)  # after which nobody would tidy up
        assert office.submit().codes == ["2"]
    assert len(packages(bench)) == 1

    start_again(bench)
    assert len(packages(bench)) == 1, "its ticket may be about to be laid down"
    age(bench)
    start_again(bench)
    assert packages(bench) == []


def test_a_package_that_a_job_prints_from_stays(bench: Bench) -> None:
    with serving(bench) as office:
        assert office.submit().codes == ["0"]
    age(bench)

    start_again(bench)

    assert len(packages(bench)) == 1


@pytest.mark.parametrize("place", ["claimed", "waiting", "refused"])
def test_a_package_of_a_ticket_that_may_become_a_job_stays(bench: Bench, place: str) -> None:
    kept, gone = (bench.source.artwork / f"{PACKAGE}{digit * 16}" for digit in "ab")
    for folder in (kept, gone):
        folder.mkdir()
        (folder / "002-art.pdf").write_bytes(b"%PDF")
    (getattr(bench.source, place) / "c1.jdf").write_text(f"<JDF>{kept.as_uri()}/002-art.pdf</JDF>")
    places = (bench.source.claimed, bench.source.waiting, bench.source.refused)

    sweep_packages(bench.source.artwork, places, [], time.time() + 2 * ABOUT_TO_S)

    assert packages(bench) == [kept.name]


def test_a_folder_of_somebody_else_stays(bench: Bench) -> None:
    (bench.source.artwork / f"{PACKAGE}of-prints").mkdir()
    age(bench)

    start_again(bench)

    assert packages(bench) == [f"{PACKAGE}of-prints"]


def test_a_package_that_brings_no_ticket_goes_with_its_answer(bench: Bench) -> None:
    with serving(bench) as office:
        said = office.submit(message=submit(url="cid:none"))
        assert said.codes != ["0"]
        assert packages(bench) == []


def test_a_package_that_finds_no_room_goes_with_its_answer(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: Desk) -> None:
        raise Busy

    with serving(bench) as office:
        monkeypatch.setattr(Desk, "require_room", full)
        assert office.submit().codes != ["0"]
        assert packages(bench) == []
        monkeypatch.undo()
        assert office.submit().codes == ["0"]


def test_a_package_of_which_one_ticket_was_taken_stays_though_another_was_refused(bench: Bench) -> None:
    with serving(bench) as office:
        both = submit("c1") + submit("c2", url="cid:none")
        codes = office.submit(message=both).codes
        assert codes[0] == "0"
        assert codes[1] != "0"
    assert len(packages(bench)) == 1


def test_while_the_bridge_runs_a_left_package_goes_when_it_can_be_in_nobody_s_hand(bench: Bench) -> None:
    old, young = left_over(bench, "a"), left_over(bench, "b")
    long_ago_s = time.time() - 10 * 3600
    with serving(bench) as office:
        assert office.submit().codes == ["0"]
        os.utime(old, (long_ago_s, long_ago_s))
        [mine] = set(packages(bench)) - {old.name, young.name}
        os.utime(bench.source.artwork / mine, (long_ago_s, long_ago_s))
        office.loop.sweep_again()
        assert packages(bench) == sorted([young.name, mine])


def test_what_was_arriving_goes_at_once_where_one_bridge_has_the_shop_for_itself(bench: Bench) -> None:
    left = bench.source.artwork / f"{RECEIVING}{'a' * 16}"
    left.mkdir()

    start_again(bench)

    assert not left.exists()


def test_what_another_bridge_may_be_receiving_just_now_stays(bench: Bench) -> None:
    arriving, left = (bench.source.artwork / f"{RECEIVING}{digit * 16}" for digit in "ab")
    for folder in (arriving, left):
        folder.mkdir()
    limit_s = JmfLimits().receive_s
    long_ago_s = time.time() - 2 * limit_s
    os.utime(left, (long_ago_s, long_ago_s))

    with serving(bench, share=Share(frozenset({lease_name(SOURCE, "counter")}), "office-1")):
        pass

    assert arriving.exists()
    assert not left.exists()
