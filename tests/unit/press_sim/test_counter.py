"""What the simulated press answers to JMF, and that its queue outlives it."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid
from tests.unit.press_sim.tickets import Bench, Job, ticket
from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.http.channels import Channels
from ticketbridge.press_sim.http.counter import Counter
from ticketbridge.press_sim.http.mischief import Mischief, Trick
from ticketbridge.press_sim.http.parcels import NotAParcel, packed, unpacked
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.settings import read_settings
from ticketbridge.press_sim.simulator import Simulator
from ticketbridge.vocabulary.names import JDF_NAMESPACE, jdf

HEAD = f'<JMF xmlns="{JDF_NAMESPACE}" SenderID="b" TimeStamp="2026-11-25T09:00:00Z" Version="1.7" DeviceID="HL-P1-A">'
SUBMIT = '<Command ID="c1" Type="SubmitQueueEntry"><QueueSubmissionParams URL="cid:ticket"/></Command>'
ASK = '<Query ID="q1" Type="QueueStatus"/>'
Ask = Callable[..., etree._Element]


class Press:
    """A press at its counter; ``again`` is the same one after a restart."""

    def __init__(self, folder: Path, *, refuses_doubles: bool = False) -> None:
        self.bench = Bench(folder)
        self.settings = (folder / "press.yaml").read_text()
        if refuses_doubles:
            (folder / "press.yaml").write_text(f"{self.settings}\nrefuses_doubles: true\n")
        self.again()

    def again(self) -> None:
        settings = read_settings(self.bench.folder)
        self.places = Places(self.bench.folder, settings)
        self.simulator = Simulator(settings, self.places, Clock(), 0)
        channels = Channels(self.places.channels)
        self.counter = Counter(settings, self.simulator, channels, Clock())

    def end(self) -> None:
        self.places.__exit__()

    def ask(self, *messages: str, data: bytes | None = None) -> etree._Element:
        root = etree.fromstring("".join([HEAD, *messages, "</JMF>"]).encode())
        return etree.fromstring(self.counter.answer(root, {} if data is None else {"ticket": data}))

    def entries(self) -> list[tuple[str | None, str | None]]:
        answer = self.ask(ASK)
        return [(one.get("JobPartID"), one.get("Status")) for one in answer.iter(jdf("QueueEntry"))]

    def print_all(self) -> None:
        while not self.simulator.idle:
            self.simulator.start_jobs()
            self.simulator.move_on(0.0)


@pytest.fixture
def press(tmp_path: Path) -> Iterator[Press]:
    made = Press(tmp_path)
    yield made
    made.end()


def about(kind: str, part: str) -> str:
    return f'<Command ID="c2" Type="{kind}"><{kind}Params><QueueFilter JobPartID="{part}"/></{kind}Params></Command>'


def test_a_submitted_ticket_is_an_entry_that_outlives_a_restart_and_ends_as_completed(press: Press) -> None:
    answer = press.ask(SUBMIT, data=ticket(Job()))
    assert answer[0].get("ReturnCode") == "0"
    assert press.entries() == [("1.print", "Waiting")]
    press.end()
    press.again()
    assert press.entries() == [("1.print", "Waiting")]
    press.print_all()

    assert press.entries() == [("1.print", "Completed")]
    assert len(press.bench.log()) == 2


def test_a_held_entry_does_not_start_until_it_is_resumed_also_after_a_restart(press: Press) -> None:
    press.ask(SUBMIT, data=ticket(Job()))
    assert press.ask(about("HoldQueueEntry", "1.print"))[0].get("ReturnCode") == "0"
    press.end()
    press.again()
    press.print_all()
    assert (press.entries(), press.bench.log()) == ([("1.print", "Held")], [])
    assert press.ask(about("ResumeQueueEntry", "1.print"))[0].get("ReturnCode") == "0"
    press.print_all()

    assert press.entries() == [("1.print", "Completed")]


def test_a_removed_entry_is_never_printed_and_an_unknown_one_is_told(press: Press) -> None:
    press.ask(SUBMIT, data=ticket(Job()))
    assert press.ask(about("RemoveQueueEntry", "1.print"))[0].get("ReturnCode") == "0"
    press.print_all()

    assert (press.entries(), press.bench.log()) == ([("1.print", "Removed")], [])
    assert press.ask(about("RemoveQueueEntry", "1.print"))[0].get("ReturnCode") == "114"
    assert press.ask(about("RemoveQueueEntry", "9"))[0].get("ReturnCode") == "105"
    assert press.ask('<Command ID="c" Type="ShutDown"/>')[0].get("ReturnCode") == "5"


@pytest.mark.parametrize(("refuses_doubles", "code", "entries"), [(True, "116", 1), (False, "0", 2)])
def test_a_second_ticket_of_the_same_name_is_taken_or_refused_as_set(
    tmp_path: Path, refuses_doubles: bool, code: str, entries: int
) -> None:
    press = Press(tmp_path, refuses_doubles=refuses_doubles)
    press.ask(SUBMIT, data=ticket(Job()))

    assert press.ask(SUBMIT, data=ticket(Job()))[0].get("ReturnCode") == code
    assert len(press.entries()) == entries
    press.end()


def test_what_it_answers_is_valid_by_the_official_schema(shared: Path, tmp_path: Path, press: Press) -> None:
    press.ask(SUBMIT, data=ticket(Job()))
    status = '<Query ID="q2" Type="Status"><StatusQuParams/></Query>'
    press.simulator.start_jobs()
    for messages in ((SUBMIT,), (ASK, status), (about("HoldQueueEntry", "1.print"),)):
        path = tmp_path / "answer.jmf"
        path.write_bytes(etree.tostring(press.ask(*messages, data=ticket(Job(job_part_id="2")))))
        assert invalid(shared, path) == []


def test_a_trick_befalls_one_answer_of_its_type(tmp_path: Path) -> None:
    mischief = Mischief(tmp_path / "http")
    (tmp_path / "http" / "wrong-code-Status").write_text("7")

    assert mischief.for_answer(["QueueStatus"]) == Trick()
    assert mischief.for_answer(["QueueStatus", "Status"]) == Trick("wrong-code", 7)
    assert mischief.for_answer(["Status"]) == Trick()


def test_a_package_is_read_as_it_was_written_and_half_of_one_is_none() -> None:
    body, content_type = packed(b"<JMF/>", b"<JDF>\r\n</JDF>")

    assert unpacked(content_type, body) == (b"<JMF/>", {"ticket": b"<JDF>\r\n</JDF>"})
    with pytest.raises(NotAParcel):
        unpacked(content_type, body[: len(body) // 2])
