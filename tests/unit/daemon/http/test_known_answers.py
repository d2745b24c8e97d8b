"""A question asked again is answered from what was answered before, and never otherwise than by looking."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.unit.daemon.http.office import Office, command, jmf, open_office, query
from ticketbridge.daemon.http import exchange, known_answers
from ticketbridge.vocabulary.names import jdf


@pytest.fixture
def office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Office]:
    monkeypatch.setattr("ticketbridge.daemon.http.desk.FRESH_S", 3600.0)  # only changes count here
    with open_office(tmp_path / "shop") as office:
        yield office


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The queries that were read and answered, not looked up."""
    kept: list[str] = []
    whole = exchange.answer

    def answer(message: Any, world: Any) -> Any:
        kept.append(message.kind)
        return whole(message, world)

    monkeypatch.setattr(exchange, "answer", answer)
    return kept


@pytest.mark.parametrize("kind", ["KnownDevices", "QueueStatus", "Status", "Resource", "KnownMessages"])
def test_the_same_question_again_has_the_same_answer_with_its_own_ids(
    office: Office, read: list[str], kind: str
) -> None:
    office.submit()
    first = office.post(jmf(query(kind, message_id="a")))
    again = office.post(jmf(query(kind, message_id="b")).replace(b"09:00:00Z", b"09:00:05.5+01:00"))

    assert read == [kind]
    assert [one.get("refID") for one in (*first.responses, *again.responses)] == ["a", "b"]
    assert first.responses[0].get("ID") != again.responses[0].get("ID")
    assert first.root.get("TimeStamp") <= again.root.get("TimeStamp")
    told = [[dict(one.attrib) for one in said.responses[0].iterdescendants()] for said in (first, again)]
    assert told[0] == told[1]


def test_several_questions_keep_their_order(office: Office, read: list[str]) -> None:
    for names in (("a", "b"), ("c", "a")):
        asked = [
            query(kind, message_id=name) for kind, name in zip(("Status", "KnownDevices"), names, strict=True)
        ]
        said = office.post(jmf(*asked))
        assert [(one.get("refID"), one.get("Type")) for one in said.responses] == [
            (names[0], "Status"),
            (names[1], "KnownDevices"),
        ]
    assert len(read) == 2


def test_what_changed_is_seen_at_once(office: Office) -> None:
    asked = jmf(query("QueueStatus"))
    assert office.post(asked).find("QueueEntry") is None
    office.submit()

    assert office.post(asked).find("QueueEntry").get("Status") == "Waiting"

    office.post(jmf(command("HoldQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>')))
    assert office.post(asked).find("QueueEntry").get("Status") == "Held"


def test_another_sender_is_not_answered_in_its_place(office: Office) -> None:
    assert office.post(jmf(query("KnownDevices"))).codes == ["0"]

    assert office.post(jmf(query("KnownDevices"), sender="press-1")).codes == ["5"]
    assert office.post(jmf(query("KnownDevices"), sender="nobody")).status == 403


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'ID="q1"', b'ID="1 2"'),
        (b'ID="q1"', b""),
        (b"2026-11-25T09:00:00Z", b"yesterday"),
        (b"2026-11-25T09:00:00Z", b"2026-13-25T09:00:00Z"),
    ],
)
def test_what_is_not_valid_is_refused_though_the_like_was_answered(
    office: Office, old: bytes, new: bytes
) -> None:
    asked = jmf(query("KnownDevices"))
    assert office.post(asked).codes == ["0"]

    assert office.post(asked.replace(old, new)).codes == ["4"]


def test_two_messages_of_one_id_are_refused_though_the_like_was_answered(office: Office) -> None:
    assert office.post(jmf(query("Status", "", "a"), query("Status", "", "b"))).codes == ["0", "0"]

    assert "0" not in office.post(jmf(query("Status", "", "a"), query("Status", "", "a"))).codes


def test_what_is_said_besides_is_said_each_time_with_its_own_time(office: Office, read: list[str]) -> None:
    asked = jmf(query("QueueStatus", '<QueueFilter JobID="X"/>'))
    for _ in range(2):
        said = office.post(asked)
        assert said.codes == ["108"]
        assert said.root.find(f".//{jdf('Notification')}") is not None
    assert len(read) == 2


def test_a_subscription_is_opened_each_time(office: Office) -> None:
    asked = query("Status", '<Subscription URL="http://127.0.0.1:9/jmf"/>')
    for _ in range(2):
        assert office.post(jmf(asked)).responses[0].get("Subscribed") == "true"


def test_only_so_many_are_kept(office: Office, read: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(known_answers, "MOST_KEPT", 2)
    for number in (1, 2, 3, 1):
        office.post(jmf(query("KnownDevices", f"<!--{number}-->")))
    assert len(read) == 4
