"""What the bridge says to a press, and what the simulated press says, against the official schema of JDF 1.x.

Source: the official XSDs of JDF 1.x (snapshot of 1 July 2025), read from the shared folder; see ``official``.
"""

from email import message_from_bytes
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.unit.made import NOW
from ticketbridge.hand_over.press_messages import (
    SUBSCRIBED,
    Entry,
    Letterhead,
    about_an_entry,
    ask_all,
    ask_queue,
    submit,
    subscribe,
)
from ticketbridge.jdf.package import content_type_of
from ticketbridge.jdf.writing import as_bytes, jdf_root, moment
from ticketbridge.report.acknowledge import acknowledge
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS

VERSIONS = WRITABLE_VERSIONS
COMMANDS = ("HoldQueueEntry", "ResumeQueueEntry", "SuspendQueueEntry", "AbortQueueEntry", "RemoveQueueEntry")
ENTRY = Entry("HL 24117", "1.Q000012", "P-7")


def head(version: str) -> Letterhead:
    return Letterhead("harbourlight-bridge", "HL-P1-A", version, "0.1")


def judged(shared: Path, tmp_path: Path, body: bytes, version: str) -> list[str]:
    path = tmp_path / "message.jmf"
    path.write_bytes(body)
    return invalid(shared, path) + too_new(shared, etree.fromstring(body), version)


def jmf_in(package: bytes) -> bytes:
    mail = message_from_bytes(f"Content-Type: {content_type_of(package)}\r\n\r\n".encode() + package)
    data = mail.get_payload()[0].get_payload(decode=True)
    assert isinstance(data, bytes)
    return data


@pytest.mark.parametrize("version", VERSIONS)
def test_a_submission_is_valid(shared: Path, tmp_path: Path, version: str) -> None:
    url = "http://bridge.example/jmf"
    package = submit(head(version), "Q000012.submit", NOW, b"<JDF/>", priority=40, return_jmf=url)

    assert judged(shared, tmp_path, jmf_in(package), version) == []


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("kind", SUBSCRIBED)
def test_a_subscription_is_valid(shared: Path, tmp_path: Path, version: str, kind: str) -> None:
    body = subscribe(head(version), f"B-{kind}", NOW, kind, "http://bridge.example/jmf")

    assert judged(shared, tmp_path, body, version) == []


@pytest.mark.parametrize("version", VERSIONS)
def test_a_question_is_valid(shared: Path, tmp_path: Path, version: str) -> None:
    for body in (ask_queue(head(version), "A1", NOW, ENTRY), ask_all(head(version), "A2", NOW)):
        assert judged(shared, tmp_path, body, version) == []


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("kind", COMMANDS)
def test_a_command_about_an_entry_is_valid(shared: Path, tmp_path: Path, version: str, kind: str) -> None:
    assert judged(shared, tmp_path, about_an_entry(head(version), "C1", NOW, kind, ENTRY), version) == []


@pytest.mark.parametrize("kind", COMMANDS)
@pytest.mark.parametrize("code", [0, 106])
def test_what_a_press_answered_is_acknowledged_validly(
    shared: Path, tmp_path: Path, kind: str, code: int
) -> None:
    root = jdf_root("JMF", SenderID="bridge", TimeStamp=moment(NOW), Version="1.7")
    root.append(acknowledge("M-7", kind, code, "It runs already.", NOW))
    root[0].set("ID", "S1-0")

    assert judged(shared, tmp_path, as_bytes(root), "1.7") == []
