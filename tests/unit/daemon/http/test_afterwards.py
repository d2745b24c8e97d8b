"""What comes back after a command: the ticket of an aborted entry, and what a press answered later."""

import time
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.unit.daemon.http.office import Office, command, jmf, listen, open_office, serving, submit
from tests.unit.daemon.press_bench import JmfBench
from ticketbridge.daemon import returns
from ticketbridge.daemon.returns import ReturnSender
from ticketbridge.jdf.post import Answer
from ticketbridge.model.exchange import Outcome
from ticketbridge.report.send import NotReceived
from ticketbridge.vocabulary.names import jdf

BACK = "http://127.0.0.1:9/back"
ENTRY = '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter>'
ABORT = command(
    "AbortQueueEntry", f'<AbortQueueEntryParams EndStatus="Aborted">{ENTRY}</AbortQueueEntryParams>', "a1"
)


def unsent(office: Office, channel: str) -> list[tuple[str, bytes]]:
    with office.desk.view.transaction() as tx:
        return [(one.file_name, one.body) for one in tx.unsent(channel, 0, 99)]


def judged(shared: Path, path: Path) -> None:
    root = etree.parse(str(path)).getroot()
    assert invalid(shared, path) + too_new(shared, root, root.get("Version", "")) == []


def test_the_ticket_of_an_entry_that_no_press_had_goes_back_aborted(tmp_path: Path, shared: Path) -> None:
    with open_office(tmp_path / "shop") as office:
        office.submit(message=submit(ReturnURL=BACK))
        assert office.post(jmf(ABORT)).codes == ["0"]

        path = office.bench.source.returned / "Q000001.jdf"
        judged(shared, path)
        root = etree.parse(str(path)).getroot()
        [run] = root.iter(jdf("ProcessRun"))
        assert (root.get("Status"), run.get("EndStatus")) == ("Aborted", "Aborted")
        assert unsent(office, "mis.returns") == [("Q000001.jdf", path.read_bytes())]
        told = b"".join(body for _, body in unsent(office, "mis.folder"))
        assert b"ReturnQueueEntryParams" in told
        assert f'Aborted="{root.get("ID")}"'.encode() in told


def test_the_same_abort_again_returns_nothing_more(tmp_path: Path) -> None:
    with open_office(tmp_path / "shop") as office:
        office.submit(message=submit(ReturnURL=BACK))
        office.post(jmf(ABORT))

        assert office.post(jmf(ABORT)).codes == ["114"]
        assert len(unsent(office, "mis.returns")) == 1


@pytest.fixture
def posted(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, bytes]]:
    """What is posted, and where to; all of it is received."""
    kept: list[tuple[str, bytes]] = []

    class Post(returns.Poster):
        def post(self, body: bytes, _content_type: str = "") -> Answer:
            kept.append((self._url, body))
            return Answer(Outcome.RECEIVED)

    monkeypatch.setattr(returns, "Poster", Post)
    return kept


@pytest.fixture
def at_a_press(tmp_path: Path) -> JmfBench:
    bench = JmfBench(tmp_path / "shop")
    listen(bench.folder)
    return bench


def hold(bench: JmfBench, office: Office, url: str) -> etree._Element:
    """Submit an entry, let the press have it, ask it to hold the entry; the Response."""
    office.submit()
    line = bench.line(office.bridge)
    until_s = time.monotonic() + 20
    while not bench.press.entries and time.monotonic() < until_s:
        bench.talk(line, 5)
    bench.talk(line, 5)
    wanted = command("HoldQueueEntry", f"<HoldQueueEntryParams>{ENTRY}</HoldQueueEntryParams>", "h1")
    said = office.post(jmf(wanted.replace(" ID=", f' AcknowledgeURL="{url}" ID=')))
    bench.talk(line, 30)
    return said.responses[0]


def test_what_the_press_answers_is_acknowledged_where_the_command_said(
    at_a_press: JmfBench, shared: Path, tmp_path: Path, posted: list[tuple[str, bytes]]
) -> None:
    with serving(at_a_press, released=True) as office:
        response = hold(at_a_press, office, BACK)
        [(name, body)] = unsent(office, "mis.returns")
        ReturnSender("mis.returns", office.desk.settings, office.desk.view, lambda _: None).send(body, name)

    assert (response.get("ReturnCode"), response.get("Acknowledged")) == ("0", "true")
    assert posted == [(BACK, body)]
    path = tmp_path / "said.xml"
    path.write_bytes(body)
    judged(shared, path)
    [told] = etree.fromstring(body).iter(jdf("Acknowledge"))
    assert (told.get("refID"), told.get("Type"), told.get("ReturnCode")) == ("h1", "HoldQueueEntry", "0")


def test_an_address_that_is_not_configured_is_never_called(at_a_press: JmfBench) -> None:
    with serving(at_a_press, released=True) as office:
        hold(at_a_press, office, "http://192.0.2.7/back")

        assert unsent(office, "mis.returns") == []
        told = [body for _, body in unsent(office, "mis.folder") if b"<Acknowledge" in body]
        assert len(told) == 1, "it goes the way of the source's signals"


def test_an_address_that_is_taken_out_meanwhile_is_not_called(at_a_press: JmfBench) -> None:
    with serving(at_a_press, released=True) as office:
        hold(at_a_press, office, BACK)
        [(name, body)] = unsent(office, "mis.returns")
        [mis, *_] = office.desk.settings.senders
        closed = office.desk.settings.model_copy(
            update={"senders": (mis.model_copy(update={"signal_urls": ()}),)}
        )

        with pytest.raises(NotReceived):
            ReturnSender("mis.returns", closed, office.desk.view, lambda _: None).send(body, name)
