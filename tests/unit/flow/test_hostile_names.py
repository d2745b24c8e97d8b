"""Names that a folder takes and nobody expects: a ticket under any of them is served or refused, and nothing stands still."""

import unicodedata
from pathlib import Path

import pytest

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.demo.orders import artwork, ticket
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep.rescue import set_aside

NAMES = {
    "as long as a folder takes": "x" * 251 + ".jdf",
    "bytes that are no UTF-8": "\udcff\udce4.jdf",
    "a line end": "line\nbreak.jdf",
    "control characters": "\x01\x1b[2J.jdf",
    "marks that turn the direction": "\u202efdj.exe.jdf",
    "a code point that is no character": "\ufffe.jdf",
    "a beginning like an option": "-rf.jdf",
    "only a space": " .jdf",
    "two dots": "a..jdf",
    "our own separator": "a~b~c.jdf",
    "a picture": "\U0001f600.jdf",
    "quotes and brackets": "$(id)`id`;'\"<&>.jdf",
}


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    made = Bench(tmp_path / "shop")
    (made.source.drop / "art" / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
    return made


@pytest.mark.parametrize("what", NAMES)
def test_a_good_ticket_becomes_a_job_under_any_name(bench: Bench, what: str) -> None:
    bridge = bench.start()
    (bench.source.drop / NAMES[what]).write_bytes(ticket(BANNER))

    accept(bridge, [bench.claim(NAMES[what])])

    assert len(bench.files(bench.source.accepted)) == 1
    assert bench.signals(bridge)[0].startswith("Notification")


@pytest.mark.parametrize("what", NAMES)
def test_a_bad_ticket_is_refused_with_its_note_under_any_name(bench: Bench, what: str) -> None:
    bridge = bench.start()
    (bench.source.drop / NAMES[what]).write_bytes(b"<a>")

    accept(bridge, [bench.claim(NAMES[what])])

    refused = sorted(path.name for path in bench.source.refused.iterdir() if not path.name.startswith("."))
    assert len(refused) == 2
    assert refused[1] == f"{refused[0]}.findings.txt"
    assert bench.signals(bridge) == ["Notification xml.not-well-formed 3"]


@pytest.mark.parametrize("what", NAMES)
def test_a_ticket_that_ended_the_process_too_often_is_set_aside_under_any_name(
    bench: Bench, what: str
) -> None:
    bridge = bench.start()
    (bench.source.drop / NAMES[what]).write_bytes(b"<a>")

    set_aside(bridge, bench.claim(NAMES[what]), 3)

    assert bench.signals(bridge) == ["Notification intake.set-aside 2"]


def test_names_that_are_equal_once_they_are_normalised_are_two_files(bench: Bench) -> None:
    bridge = bench.start()
    names = [unicodedata.normalize(form, "\u00e4.jdf") for form in ("NFC", "NFD")]
    for name in names:
        (bench.source.drop / name).write_bytes(b"<a>")

    accept(bridge, [bench.claim(name) for name in names])

    assert len([name for name in bench.files(bench.source.refused) if name.endswith(".jdf")]) == 2
