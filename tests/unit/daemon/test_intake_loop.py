"""The loop that claims: whatever is being read at the moment, files are taken."""

import errno
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from queue import Queue

import pytest
from watchdog.observers.inotify import InotifyObserver

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.litter import kinds_taken
from ticketbridge.accept.watch import DropWatch
from ticketbridge.config.load import load_shop
from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.intake_loop import UNHINDERED_S, IntakeLoop, full
from ticketbridge.daemon.logs import Notices
from ticketbridge.demo.orders import ticket
from ticketbridge.jdf.validate import validate_document
from ticketbridge.model.shop import Limits, Source, Watch


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def inbox(bench: Bench) -> "Iterator[Queue[Claimed]]":
    inbox: Queue[Claimed] = Queue()
    source = Source(
        id="mis",
        folder="hotfolders/mis",
        mapping="mis",
        watch=Watch(scan_s=0.5, quiet_s=0.6, patience_s=2),
    )
    mapping = load_shop(bench.folder).shop.mappings["counter"]
    loop = IntakeLoop(
        source,
        bench.source,
        Limits(),
        inbox,
        lambda: None,
        Notices(),
        Heartbeats(clock.monotonic),
        kinds_taken(source, mapping),
    )
    loop.start()
    yield inbox
    loop.stop()
    loop.join(5)


def put(bench: Bench, name: str, data: bytes) -> None:
    """Written elsewhere, then moved in whole."""
    (bench.source.status / name).write_bytes(data)
    (bench.source.status / name).rename(bench.source.drop / name)


def test_a_drop_folder_that_was_taken_away_is_watched_anew_when_it_is_back(
    bench: Bench, inbox: "Queue[Claimed]", monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = threading.Event()
    real = DropWatch.start_events

    def start_events(self: DropWatch) -> None:
        real(self)  # fails until the folder is there
        asked.set()

    monkeypatch.setattr(DropWatch, "start_events", start_events)
    drop, away = bench.source.drop, bench.folder / "away"
    drop.rename(away)
    time.sleep(1.0)  # longer than it takes to look again
    away.rename(drop)

    assert asked.wait(30)
    put(bench, "late.jdf", ticket(BANNER))
    assert inbox.get(timeout=30).original_name == "late.jdf"


def test_reading_heavy_tickets_does_not_keep_others_from_being_claimed(
    bench: Bench, inbox: "Queue[Claimed]"
) -> None:
    link = b'<ComponentLink Usage="Output" rRef="c1" Amount="many"/>'
    heavy = ticket(BANNER).replace(b"</ResourceLinkPool>", link * 3000 + b"</ResourceLinkPool>")
    all_claimed, read = threading.Event(), []

    def read_on_and_on() -> None:
        while not all_claimed.is_set():
            read.append(validate_document(heavy, Limits(), "heavy.jdf"))

    busy = threading.Thread(target=read_on_and_on)
    busy.start()
    for number in range(100):
        put(bench, f"{number}.jdf", ticket(BANNER))

    names = {inbox.get(timeout=30).original_name for _ in range(100)}
    all_claimed.set()
    busy.join()

    assert names == {f"{number}.jdf" for number in range(100)}
    assert all(read)


def test_a_file_that_a_slow_writer_writes_in_parts_is_taken_once_and_whole(
    bench: Bench, inbox: "Queue[Claimed]"
) -> None:
    data = ticket(BANNER)
    for part in (data[:200], data[200:500], data[500:]):
        with (bench.source.drop / "slow.jdf").open("ab") as file:  # opens and closes for each part
            file.write(part)
        time.sleep(0.3)

    claimed = inbox.get(timeout=10)

    assert claimed.whole
    assert claimed.path.read_bytes() == data
    assert inbox.empty()


def test_order_lines_are_taken_once_nothing_was_added_for_the_quiet_time(
    bench: Bench, inbox: "Queue[Claimed]"
) -> None:
    lines = b"".join(b"line %d\n" % number for number in range(5))
    for line in lines.splitlines(keepends=True):
        with (bench.source.drop / "orders.csv").open("ab") as file:  # whole after every line, it seems
            file.write(line)
        time.sleep(0.3)

    claimed = inbox.get(timeout=10)

    assert claimed.path.read_bytes() == lines
    assert inbox.empty()


def test_half_a_file_is_handed_on_as_unfinished_after_the_patience(
    bench: Bench, inbox: "Queue[Claimed]"
) -> None:
    put(bench, "half.jdf", ticket(BANNER)[:300])

    assert not inbox.get(timeout=10).whole


def test_litter_artwork_and_special_files_are_left_alone(bench: Bench, inbox: "Queue[Claimed]") -> None:
    for name in (".hidden.jdf", "a.jdf.tmp", "art.pdf", "notes.txt"):
        put(bench, name, b"<a/>")
    put(bench, "good.jdf", b"<a/>")

    assert inbox.get(timeout=10).original_name == "good.jdf"
    time.sleep(0.8)
    assert inbox.empty()


@pytest.mark.parametrize(
    ("number", "limit"),
    [(errno.ENOSPC, "fs.inotify.max_user_watches"), (errno.EMFILE, "fs.inotify.max_user_instances")],
)
def test_where_the_kernel_gives_no_events_files_are_taken_all_the_same_and_the_limit_is_named(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, number: int, limit: str
) -> None:
    def refuse(_observer: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(InotifyObserver, "start", refuse)
    notices, inbox = Told(), Queue[Claimed]()
    with intake(bench, inbox, notices):
        put(bench, "a.jdf", b"<a/>")
        assert inbox.get(timeout=10).original_name == "a.jdf"

    [reason] = [reason for what, reason in notices.failed if what.endswith("goes by its timed look alone")]
    assert limit in reason


def test_while_something_hinders_it_nothing_is_claimed_and_afterwards_everything(bench: Bench) -> None:
    hindrance = ["the disk is full"]
    notices, inbox = Told(), Queue[Claimed]()
    with intake(bench, inbox, notices, lambda: hindrance[0] if hindrance else None):
        put(bench, "a.jdf", b"<a/>")
        time.sleep(1.5)
        assert inbox.empty()
        assert "a.jdf" in os.listdir(bench.source.drop)
        hindrance.clear()
        assert inbox.get(timeout=10).original_name == "a.jdf"

    assert notices.failed.count(("intake mis takes nothing", "the disk is full")) > 1  # the log counts them


def test_a_burst_does_not_ask_for_every_file_how_full_the_disk_is(bench: Bench) -> None:
    asked: list[float] = []
    inbox = Queue[Claimed]()
    for number in range(200):
        put(bench, f"{number}.jdf", b"<a/>")
    with intake(bench, inbox, Told(), lambda: asked.append(clock.monotonic())):
        for _ in range(200):
            inbox.get(timeout=10)

    assert all(later - one > UNHINDERED_S / 2 for one, later in pairwise(asked))


def test_a_disk_with_too_little_room_is_named_with_what_to_do(tmp_path: Path) -> None:
    assert full(tmp_path, 0) is None
    assert full(tmp_path, 1e9) is not None
    assert f"the disk of {tmp_path} has" in str(full(tmp_path, 1e9))


class Told(Notices):
    """Keeps what fails."""

    def __init__(self) -> None:
        super().__init__()
        self.failed: list[tuple[str, str]] = []

    def failing(self, what: str, **facts: object) -> None:
        self.failed.append((what, str(facts.get("reason"))))


@contextmanager
def intake(
    bench: Bench,
    inbox: "Queue[Claimed]",
    notices: Notices,
    hindrance: Callable[[], str | None] = lambda: None,
) -> Iterator[None]:
    """A loop over the order desk's folder that looks twice a second."""
    source = Source(id="mis", folder="hotfolders/mis", mapping="mis", watch=Watch(scan_s=0.5, quiet_s=0))
    heartbeats = Heartbeats(clock.monotonic)
    loop = IntakeLoop(
        source, bench.source, Limits(), inbox, lambda: None, notices, heartbeats, hindrance=hindrance
    )
    loop.start()
    yield
    loop.stop()
    loop.join(5)
