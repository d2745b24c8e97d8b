"""Sending: what counts as received, and what does not."""

from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest

from ticketbridge.report.send import FolderSender, HttpSender, NotReceived, return_code
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE, MARKER_NAME

NAMESPACE = 'xmlns="http://www.CIP4.org/JDFSchema_1_1"'


def jmf(code: int) -> bytes:
    return f'<JMF {NAMESPACE}><Response ID="R" refID="S" Type="Status" ReturnCode="{code}"/></JMF>'.encode()


def sender(answer: httpx2.Response | Exception, seen: list[httpx2.Request] | None = None) -> HttpSender:
    def handle(request: httpx2.Request) -> httpx2.Response:
        if seen is not None:
            seen.append(request)
        if isinstance(answer, Exception):
            raise answer
        return answer

    return HttpSender("http://mis.example/jmf", httpx2.Client(transport=httpx2.MockTransport(handle)))


@pytest.mark.parametrize("content", [b"", b" \n", jmf(0)])
def test_an_answer_of_200_that_is_empty_or_says_0_means_received(content: bytes) -> None:
    seen: list[httpx2.Request] = []
    sender(httpx2.Response(200, content=content), seen).send(b"<JMF/>", "1.jmf")

    assert [(request.content, request.headers["content-type"]) for request in seen] == [
        (b"<JMF/>", JMF_CONTENT_TYPE)
    ]


@pytest.mark.parametrize(
    "answer",
    [
        httpx2.Response(500),
        httpx2.Response(302, headers={"location": "http://elsewhere.example/"}),
        httpx2.Response(200, content=jmf(2)),
        httpx2.Response(200, content=b"<html>welcome</html>"),
        httpx2.Response(200, content=b"not xml"),
        httpx2.Response(200, content=b"x" * 2_000_000),
        httpx2.ConnectError("refused"),
        httpx2.ReadTimeout("slow"),
    ],
    ids=["500", "redirect", "code 2", "a page", "no xml", "too much", "no connection", "time-out"],
)
def test_anything_else_means_not_received(answer: httpx2.Response | Exception) -> None:
    with pytest.raises(NotReceived):
        sender(answer).send(b"<JMF/>", "1.jmf")


def test_an_entity_in_an_answer_is_never_opened(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("7")
    bomb = f'<!DOCTYPE JMF [<!ENTITY x SYSTEM "{tmp_path / "secret"}">]><JMF {NAMESPACE}>&x;</JMF>'

    assert return_code(bomb.encode()) == 0


def test_a_folder_gets_whole_files_and_the_same_again_changes_nothing(tmp_path: Path) -> None:
    (tmp_path / MARKER_NAME).touch()
    folder = FolderSender(tmp_path)
    for _ in range(2):
        folder.send(b"<JMF/>", "1.jmf")
    folder.settle(["1.jmf", "taken-meanwhile.jmf"])

    assert [(path.name, path.read_bytes()) for path in sorted(tmp_path.glob("*.jmf"))] == [
        ("1.jmf", b"<JMF/>")
    ]


def test_a_folder_that_is_not_mounted_is_not_written_to(tmp_path: Path) -> None:
    with pytest.raises(NotReceived, match="not mounted"):
        FolderSender(tmp_path).send(b"<JMF/>", "1.jmf")

    assert list(tmp_path.iterdir()) == []


def test_an_answer_that_drips_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    times = iter([0.0, 5.0, 30.0, 40.0])
    monkeypatch.setattr("ticketbridge.report.send.time.monotonic", lambda: next(times))

    def drops() -> Iterator[bytes]:
        yield from (b" ", b" ", b" ")

    with pytest.raises(NotReceived, match="did not finish"):
        sender(httpx2.Response(200, content=drops())).send(b"<JMF/>", "1.jmf")
