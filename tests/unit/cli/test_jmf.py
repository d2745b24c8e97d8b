"""``jmf`` by command: what people see of messages, and what they can do with those that were given up."""

import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.unit.flow.bench import BANNER, Bench, status_jmf
from ticketbridge.cli.jmf import jmf
from ticketbridge.daemon.request_box import answer_requests
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.jdf.post import Poster
from ticketbridge.spool.exchanges import Exchanges

MESSAGE = status_jmf("HL-P1-A", ("HL-24117", "1.Q000001"), "Setup", 0, 3, "S1")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A shop with one accepted ticket, whose bridge answers requests."""
    bench = Bench(tmp_path / "shop")
    bridge, over = bench.restart(), threading.Event()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    for box in (bridge.places.requests, bridge.places.replies):
        box.mkdir()

    def answer() -> None:
        while not over.wait(0.01):
            answer_requests(bridge)

    thread = threading.Thread(target=answer)
    thread.start()
    yield bench
    over.set()
    thread.join()
    bridge.store.close()


def run(*words: str) -> Result:
    return CliRunner().invoke(jmf, list(words))


def test_a_message_is_skipped_listed_as_a_dead_letter_and_sent_again(bench: Bench) -> None:
    shop = ("--shop", str(bench.folder))
    skipped = run("skip", *shop, "mis.folder")
    assert "Message 1 of mis.folder is a dead letter now" in skipped.output

    log = run("log", *shop).output
    assert re.search(r"mis\.folder +1 +\d{4}-\d\d-\d\d \d\d:\d\d +skipped by ", log)
    again = run("resend", *shop, "mis.folder", "1")
    assert (again.exit_code, "waits behind the newest" in again.output) == (0, True)
    assert "Dead letters" not in run("log", *shop).output


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("resend", "mis.folder", "77"), "mis.folder has no dead letter 77."),
        (("skip", "elsewhere"), "Nothing waits to be sent to elsewhere."),
    ],
)
def test_what_cannot_be_done_is_told_with_a_remedy(bench: Bench, words: tuple[str, ...], told: str) -> None:
    done = run(words[0], "--shop", str(bench.folder), *words[1:])

    assert done.exit_code == 1
    assert done.output.startswith(f"{told} `ticketbridge jmf log` lists")


def test_the_log_shows_the_last_exchanges_and_on_request_both_bodies(bench: Bench) -> None:
    places = bench.start().places
    Poster(
        "http://127.0.0.1:1/jmf", "mis.http", Exchanges(places.exchanges, lambda: next(bench.clock)).note
    ).post(MESSAGE)

    short = run("log", "--shop", str(bench.folder)).output
    long = run("log", "--shop", str(bench.folder), "mis.http", "--bodies").output
    assert re.search(r"mis\.http +sent +not reached +Signal Status +http://127\.0\.0\.1:1/jmf", short)
    assert 'JobPartID="1.Q000001"' in long


def test_a_message_sent_by_hand_is_heard_by_the_listener_and_answered(tmp_path: Path) -> None:
    program = [sys.executable, "-m", "ticketbridge", "jmf", "listen", "--port", "0", "--count", "2"]
    with subprocess.Popen(program, stdout=subprocess.PIPE, text=True) as listener:
        assert listener.stdout is not None
        url = listener.stdout.readline().split()[-1]
        (tmp_path / "status.jmf").write_bytes(MESSAGE)
        (tmp_path / "page.jmf").write_text("no XML")
        heard = run("send", url, str(tmp_path / "status.jmf"))
        refused = run("send", url, str(tmp_path / "page.jmf"))
        shown = listener.stdout.read()

    assert (heard.exit_code, refused.exit_code) == (0, 1)
    assert 'refID="S1"' in heard.output
    assert "refused for good" in refused.output
    assert 'Status="Setup"' in shown
    assert "no XML" in shown
