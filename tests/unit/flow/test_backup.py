"""Backups of a bridge that works meanwhile, restored elsewhere: all agrees, work goes on, nothing is printed twice."""

import sqlite3
import tarfile
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench, press_returns, status_jmf
from ticketbridge.accept.claim import Claimer
from ticketbridge.accept.submitted import SUBMITTED, lay_down
from ticketbridge.cli import main
from ticketbridge.demo.orders import DemoOrder, ticket
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep import backing_up
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Request, Wish
from ticketbridge.model.submission import Submission
from ticketbridge.store.copying import copy_store

pytestmark = pytest.mark.store_file
"""A database is copied by its server's own tools."""

ORDERS = [replace(BANNER, job_id=f"HL-9{n:03d}", file_name=f"{n:03d}.jdf") for n in range(16)]


class MadeBench(Bench):
    """A bench on a shop folder that is there already."""

    def __post_init__(self) -> None:
        pass


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


def ticketbridge(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def take_in(bench: Bench, bridge: Bridge, orders: list[DemoOrder]) -> Iterator[DemoOrder]:
    for order in orders:
        accept(bridge, [bench.claim(bench.drop(order))])
        yield order


def print_all(bench: Bench, bridge: Bridge) -> Counter[str]:
    """The presses print what they are given until nothing more comes. How often each JobID was printed."""
    printed: Counter[str] = Counter()
    while tickets := [path for lane in bridge.lanes for path in bench.lane(lane).tickets.glob("*.jdf")]:
        for path in tickets:
            data, device_id = path.read_bytes(), path.parent.parent.name
            path.unlink()
            printed[str(etree.fromstring(data).get("JobID"))] += 1
            bench.press_says(bridge, device_id, path.name, press_returns(data))
        release_waiting(bridge)
    return printed


def ask(bridge: Bridge, wish: Wish, **args: str) -> None:
    asked = Request(wish, "someone", args)
    assert answer(bridge, asked, f"{wish} {sorted(args.values())}").done


def people_compare(bench: Bench, bridge: Bridge, printed: Counter[str]) -> None:
    """What restore tells people to do, by what the press has printed."""
    with bridge.store.transaction() as tx:
        jobs = tx.open_jobs()
    for job in jobs:
        name = {"queue_entry_id": job.queue_entry_id}
        if printed[job.job_id]:
            ask(bridge, Wish.CANCEL, **name)
        elif job.given:
            ask(bridge, Wish.SEND_AGAIN, **name)
    assert print_all(bench, bridge) == {}, "a held lane is given nothing"
    for device_id in bridge.lanes:
        ask(bridge, Wish.LANE_RESUME, device_id=device_id)
    release_waiting(bridge)


@pytest.mark.parametrize("printed_since", [True, False])
def test_a_backup_in_the_middle_of_a_burst_verifies_elsewhere_and_everything_is_printed_once(
    bench: Bench, tmp_path: Path, *, printed_since: bool
) -> None:
    bridge = bench.restart()
    for order in ORDERS:
        bench.drop(order)
    begun = threading.Event()

    def burst() -> None:
        for count, order in enumerate(ORDERS):
            accept(bridge, [bench.claim(order.file_name)])
            if count == 4:
                begun.set()  # the rest is taken in while the backup is made

    thread = threading.Thread(target=burst)
    thread.start()
    assert begun.wait(30)
    backup = ticketbridge("backup", "--shop", bench.folder, tmp_path / "shop.tar.gz")
    thread.join(60)
    assert backup.exit_code == 0, backup.output
    printed = print_all(bench, bridge) if printed_since else Counter()
    assert len(printed) in (0, len(ORDERS))
    bridge.store.close()

    restored = ticketbridge("restore", tmp_path / "shop.tar.gz", tmp_path / "elsewhere")

    assert restored.exit_code == 0, restored.output
    assert "compared with the store: all agrees." in restored.output
    again = MadeBench(tmp_path / "elsewhere", clock=bench.clock)
    bridge = again.restart()
    for path in sorted(again.source.drop.glob("*.jdf")):
        accept(bridge, [again.claim(path.name)])
    assert print_all(again, bridge) == {}, "nothing goes to a press before people have looked"
    people_compare(again, bridge, printed)
    printed += print_all(again, bridge)
    assert printed == Counter(order.job_id for order in ORDERS)
    new = replace(
        BANNER, job_id="HL-new", file_name="new.jdf"
    )  # its number is none that the press has heard of
    accept(bridge, [again.claim(again.drop(new))])
    with bridge.store.transaction() as tx:
        assert [job.number > 100_000 for job in tx.open_jobs()] == [True]
    assert print_all(again, bridge) == Counter(["HL-new"])
    assert ticketbridge("verify", "--shop", again.folder).exit_code == 0
    bridge.store.close()


def test_what_no_press_has_printed_is_printed_after_the_restore(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert len(list(take_in(bench, bridge, ORDERS[:5]))) == 5
    assert ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz").exit_code == 0
    bridge.store.close()

    assert ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere").exit_code == 0

    again = MadeBench(tmp_path / "elsewhere", clock=bench.clock)
    bridge = again.restart()
    people_compare(again, bridge, Counter())
    assert print_all(again, bridge) == Counter({order.job_id: 1 for order in ORDERS[:5]})
    bridge.store.close()


@pytest.fixture
def as_soon_as_the_store_is_copied(monkeypatch: pytest.MonkeyPatch) -> list[Callable[[], object]]:
    """What is done between the copy of the store and the first look into the folders."""
    done: list[Callable[[], object]] = []

    def copied(database: Path, target: Path) -> None:
        copy_store(database, target)
        for work in done:
            work()

    monkeypatch.setattr(backing_up, "copy_store", copied)
    return done


def test_what_was_taken_in_after_the_store_was_copied_is_taken_in_anew(
    bench: Bench, tmp_path: Path, as_soon_as_the_store_is_copied: list[Callable[[], object]]
) -> None:
    bridge = bench.restart()
    bench.source.drop.joinpath("broken.jdf").write_text("<JDF")
    as_soon_as_the_store_is_copied += [
        lambda: accept(bridge, [bench.claim(bench.drop(BANNER))]),
        lambda: accept(bridge, [bench.claim("broken.jdf")]),
    ]
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    assert bench.files(bench.source.refused) == ["broken.jdf", "broken.jdf.findings.txt"]
    bridge.store.close()

    told = ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere")

    again = MadeBench(tmp_path / "elsewhere", clock=bench.clock)
    assert "0 files and 0 jobs compared with the store: all agrees." in told.output
    assert again.files(again.source.claimed) == [BANNER.file_name, "broken.jdf"]
    bridge = again.restart()
    assert again.files(again.source.accepted) == [BANNER.file_name]
    assert again.files(again.source.refused) == ["broken.jdf", "broken.jdf.findings.txt"]
    bridge.store.close()


def test_a_ticket_by_message_without_what_the_message_said_comes_back_as_a_dropped_one(
    bench: Bench, tmp_path: Path, as_soon_as_the_store_is_copied: list[Callable[[], object]]
) -> None:
    bridge = bench.restart()
    bench.drop(BANNER)

    def submit() -> None:
        claimed = Claimer("mis", bench.source, SUBMITTED).name(BANNER.file_name, next(bench.clock))
        lay_down(claimed, ticket(BANNER), Submission("desk", "m1"))
        accept(bridge, [claimed])

    (bench.source.drop / BANNER.file_name).unlink()
    as_soon_as_the_store_is_copied.append(submit)
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    with bridge.store.transaction() as tx:
        assert len(tx.all_jobs()) == 1
    bridge.store.close()

    ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere")

    again = MadeBench(tmp_path / "elsewhere", clock=bench.clock)
    bridge = again.restart()
    (name,) = [path.name for path in again.source.drop.glob("*.jdf")]
    accept(bridge, [again.claim(name)])
    with bridge.store.transaction() as tx:
        assert [job.job_id for job in tx.all_jobs()] == [BANNER.job_id]
    bridge.store.close()


def test_what_a_press_said_after_the_store_was_copied_is_followed_anew(
    bench: Bench, tmp_path: Path, as_soon_as_the_store_is_copied: list[Callable[[], object]]
) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    as_soon_as_the_store_is_copied.append(lambda: print_all(bench, bridge))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    bridge.store.close()

    ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere")

    again = MadeBench(tmp_path / "elsewhere", clock=bench.clock)
    bridge = again.restart()
    ((device_id, path),) = [
        (one, path) for one in bridge.lanes for path in again.lane(one).returned.glob("*.jdf")
    ]
    again.press_says(bridge, device_id, path.name, path.read_bytes())
    with bridge.store.transaction() as tx:
        assert tx.standing("Q000001").state is State.COMPLETED, "the press's word is evidence"
    assert ticketbridge("verify", "--shop", again.folder).exit_code == 0
    bridge.store.close()


def test_a_start_does_not_take_a_delivery_in_doubt_for_done(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert list(take_in(bench, bridge, ORDERS[:1]))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    bridge.store.close()
    told = ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere").output

    bridge = MadeBench(tmp_path / "elsewhere", clock=bench.clock).restart()

    assert "At a press that had not begun: Q000001" in told
    with bridge.store.transaction() as tx:
        delivery = tx.delivery("Q000001")
    assert delivery is not None
    assert delivery.state == "in doubt"
    bridge.store.close()


def test_a_job_that_the_press_has_begun_is_not_sent_again(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert list(take_in(bench, bridge, ORDERS[:1]))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    bridge.store.close()
    ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere")
    again = MadeBench(tmp_path / "elsewhere", clock=bench.clock)
    bridge = again.restart()
    with bridge.store.transaction() as tx:
        device_id = tx.standing("Q000001").device_id
    said = status_jmf(device_id, (ORDERS[0].job_id, "1.Q000001"), "InProgress", 1, 3, "s1")
    again.press_says(bridge, device_id, "s1.jmf", said)

    asked = Request(Wish.SEND_AGAIN, "someone", {"queue_entry_id": "Q000001"})
    reply = answer(bridge, asked, "r1")

    assert [finding.code for finding in reply.findings] == ["request.not-in-doubt"]
    bridge.store.close()


def test_artwork_inside_the_shop_folder_follows_it_elsewhere(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert list(take_in(bench, bridge, ORDERS[:1]))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    bridge.store.close()

    ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "else where")

    bridge = MadeBench(tmp_path / "else where", clock=bench.clock).restart()
    with bridge.store.transaction() as tx:
        artwork = tx.job("Q000001").item.artwork
    assert artwork is not None
    assert artwork.path == str(tmp_path / "else where/hotfolders/mis/drop/art" / f"{ORDERS[0].job_id}.pdf")
    assert artwork.url == Path(artwork.path).as_uri()
    bridge.store.close()


def test_messages_go_on_with_numbers_that_no_subscriber_has_heard_of(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert list(take_in(bench, bridge, ORDERS[:1]))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    with bridge.store.transaction() as tx:
        (promised, _) = tx.channels()["mis.folder"]
    bridge.store.close()

    ticketbridge("restore", tmp_path / "b.tar.gz", tmp_path / "elsewhere")

    bridge = MadeBench(tmp_path / "elsewhere", clock=bench.clock).restart()
    with bridge.store.transaction() as tx:
        unsent = [message.seq for message in tx.unsent("mis.folder", 0, 100)]
        assert tx.next_seq("mis.folder") == promised + 100_001
    assert unsent == list(range(1, promised + 1)), "what was promised and not sent is sent"
    bridge.store.close()


def test_a_backup_that_broke_off_or_was_changed_is_not_restored(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert list(take_in(bench, bridge, ORDERS[:1]))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    bridge.store.close()
    whole = (tmp_path / "b.tar.gz").read_bytes()
    (tmp_path / "half.tar.gz").write_bytes(whole[: len(whole) // 2])
    with tarfile.open(tmp_path / "b.tar.gz") as tar:
        tar.extractall(tmp_path / "changed", filter="data")
    (tmp_path / "changed/shop.yaml").write_text("name: another\n")
    with tarfile.open(tmp_path / "changed.tar.gz", "w:gz") as tar:
        for name in [
            *(path.name for path in (tmp_path / "changed").iterdir() if path.name != "backup.json"),
            "backup.json",
        ]:
            tar.add(tmp_path / "changed" / name, name)

    for name in ("half", "changed"):
        told = ticketbridge("restore", tmp_path / f"{name}.tar.gz", tmp_path / f"from-{name}")
        assert told.exit_code == 1
        assert "is no whole backup" in told.output
        assert not (tmp_path / f"from-{name}/state/.ticketbridge").exists(), "no bridge may run on it"


def test_nothing_is_restored_outside_the_folder(tmp_path: Path) -> None:
    with tarfile.open(tmp_path / "evil.tar.gz", "w:gz") as tar:
        (tmp_path / "x").write_text("x")
        tar.add(tmp_path / "x", "../outside")

    told = ticketbridge("restore", tmp_path / "evil.tar.gz", tmp_path / "in/here")

    assert told.exit_code == 1
    assert "would lie outside" in told.output
    assert not (tmp_path / "in/outside").exists()


def test_a_backup_replaces_no_file_and_leaves_none_where_it_fails(bench: Bench, tmp_path: Path) -> None:
    bench.restart().store.close()
    (tmp_path / "b.tar.gz").write_text("precious")

    assert ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz").exit_code == 1
    assert (tmp_path / "b.tar.gz").read_text() == "precious"
    (bench.folder / "state/bridge.sqlite").write_bytes(b"no database at all")
    told = ticketbridge("backup", "--shop", bench.folder, tmp_path / "c.tar.gz")

    assert told.exit_code == 1
    assert "No backup was made" in told.output
    assert [path.name for path in tmp_path.glob("*c.tar*")] == []


def test_a_copied_store_is_one_whole_file(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    assert list(take_in(bench, bridge, ORDERS[:2]))
    ticketbridge("backup", "--shop", bench.folder, tmp_path / "b.tar.gz")
    bridge.store.close()

    with tarfile.open(tmp_path / "b.tar.gz") as tar:
        tar.extract("state/bridge.sqlite", tmp_path, filter="data")

    copy = sqlite3.connect(tmp_path / "state/bridge.sqlite")
    assert copy.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert copy.execute("SELECT count(*) FROM job").fetchall() == [(2,)]
    copy.close()
