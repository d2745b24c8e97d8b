"""What lies in a drop folder need not be kind: odd names, twins, links, devices, files that still grow, odd clocks."""

import itertools
import os
import stat
import unicodedata
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from tests.unit.made import NOW
from ticketbridge.accept.claim import Claimer
from ticketbridge.demo.orders import artwork, ticket
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake import accepting
from ticketbridge.flow.intake.accepting import accept


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    made = Bench(tmp_path / "shop")
    for order in (BANNER, CANVAS):
        (made.source.drop / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
    return made


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def put(bench: Bench, name: str, data: bytes) -> str:
    (bench.source.drop / name).write_bytes(data)
    return name


NFC, NFD = (unicodedata.normalize(form, "Zoë.jdf") for form in ("NFC", "NFD"))


@pytest.mark.parametrize(
    "name",
    [
        NFC,
        NFD,
        os.fsdecode(b"caf\xe9.jdf"),
        "x" * 251 + ".jdf",
        "ü" * 125 + "x.jdf",
        "a\nb\x1b[2J.jdf",
        "~.jdf",
    ],
    ids=["NFC", "NFD", "no UTF-8", "255 bytes", "255 bytes of UTF-8", "control characters", "separator"],
)
def test_whatever_its_name_a_ticket_becomes_a_job_and_keeps_its_bytes(
    bench: Bench, bridge: Bridge, name: str
) -> None:
    accept(bridge, [bench.claim(put(bench, name, ticket(BANNER)))])

    [lying] = [path for path in bench.source.accepted.iterdir() if not path.name.startswith(".")]
    assert lying.read_bytes() == ticket(BANNER)
    assert len(os.fsencode(lying.name)) <= 255
    with bridge.store.transaction() as tx:
        assert [job.job_id for job in tx.all_jobs()] == [BANNER.job_id]


@pytest.mark.parametrize("names", [("Order.jdf", "order.JDF"), (NFC, NFD)], ids=["case", "NFC and NFD"])
def test_two_names_that_another_machine_takes_for_one_are_two_tickets(
    bench: Bench, bridge: Bridge, names: tuple[str, str]
) -> None:
    tickets = [ticket(BANNER), ticket(CANVAS)]
    dropped = [put(bench, name, data) for name, data in zip(names, tickets, strict=True)]
    assert len(set(os.listdir(bench.source.drop)) - {"art", ".ticketbridge"}) == 2

    accept(bridge, [bench.claim(name) for name in dropped])

    with bridge.store.transaction() as tx:
        assert {job.job_id for job in tx.all_jobs()} == {BANNER.job_id, CANVAS.job_id}


def test_two_hard_links_of_one_file_are_one_job_and_one_repeat(bench: Bench, bridge: Bridge) -> None:
    put(bench, "one.jdf", ticket(BANNER))
    os.link(bench.source.drop / "one.jdf", bench.source.drop / "two.jdf")

    accept(bridge, [bench.claim("one.jdf"), bench.claim("two.jdf")])

    assert bench.files(bench.source.accepted) == ["one.jdf"]
    assert bench.files(bench.source.repeated) == ["two.jdf"]


def test_a_device_node_stays_where_it_is(bench: Bench) -> None:
    try:
        os.mknod(bench.source.drop / "null.jdf", 0o666 | stat.S_IFCHR, os.makedev(1, 3))
    except PermissionError:
        pytest.skip("only root makes device nodes")

    assert Claimer("mis", bench.source).claim("null.jdf", NOW, whole=True) is None
    assert "null.jdf" in os.listdir(bench.source.drop)


def test_what_a_writer_adds_after_the_claim_is_told_and_not_passed_over_in_silence(
    bench: Bench, bridge: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    claimed = bench.claim(put(bench, BANNER.file_name, ticket(BANNER)))
    inner: Callable[..., object] = accepting.prepare

    def prepare_while_it_grows(*args: object, **named: object) -> object:
        with claimed.path.open("ab") as file:
            file.write(b"<!-- late -->")
        return inner(*args, **named)

    monkeypatch.setattr(accepting, "prepare", prepare_while_it_grows)
    accept(bridge, [claimed])

    [grew] = [facts for event, facts in bench.notices if event == "intake.grew"]
    assert grew == {"name": BANNER.file_name, "more_bytes": len(b"<!-- late -->")}
    assert "Notification FileStillWritten" in bench.signals(bridge)
    assert bench.files(bench.source.accepted) == [BANNER.file_name]


def test_a_file_that_does_not_grow_is_not_said_to(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(put(bench, BANNER.file_name, ticket(BANNER)))])

    assert [event for event, _ in bench.notices if event == "intake.grew"] == []


def test_a_clock_that_is_set_back_neither_loses_nor_mixes_up_anything(bench: Bench) -> None:
    now = [NOW]
    bench.clock = (now[0] for _ in itertools.count())
    bridge = bench.restart()
    for order in (BANNER, CANVAS):
        name = put(bench, "same-name.jdf", ticket(order))
        now[0] -= timedelta(hours=3)
        accept(bridge, [bench.claim(name)])
    put(bench, "again.jdf", ticket(BANNER))
    accept(bridge, [bench.claim("again.jdf")])

    assert bench.files(bench.source.accepted) == ["same-name.jdf", "same-name.jdf"]
    assert bench.files(bench.source.repeated) == ["again.jdf"]
    with bridge.store.transaction() as tx:
        assert [job.job_id for job in tx.all_jobs()] == [BANNER.job_id, CANVAS.job_id]
        numbers = [message.seq for message in tx.unsent("mis.folder", 0, 100)]
    assert numbers == sorted(numbers)
