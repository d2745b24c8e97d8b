"""What nobody should send: refused, nothing read, nothing called, nothing left behind, memory flat, the next one served."""

import gzip
import http.server
import resource
import socket
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx2
import pytest

from tests.unit.daemon.http.office import (
    JMF,
    Office,
    command,
    jmf,
    open_office,
    package,
    query,
    submission,
    submit,
)
from ticketbridge.daemon.http.receiving import Received, Refused
from ticketbridge.daemon.http.tickets import find_ticket
from ticketbridge.model.jmf_partner import JmfSender
from ticketbridge.model.shop import Limits

LIMITS = """  limits:
    package_bytes: 2000000
    parts: 8
    messages: 5
    silence_s: 0.5
    receive_s: 3
"""


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    with open_office(tmp_path / "shop", LIMITS) as office:
        yield office


@pytest.fixture(autouse=True)
def unharmed(office: Office) -> Iterator[None]:
    """After each of them nothing lies about, and an honest message is answered."""
    yield
    assert list(office.bench.source.artwork.glob(".receiving-*")) == []
    assert list(office.bench.lane("HL-P1-A").followed.glob(".receiving-*")) == []
    assert office.at(office.bench.source.claimed) == []
    assert office.post(jmf(query("KnownDevices"))).codes == ["0"]


@pytest.fixture
def foreign() -> Iterator[tuple[str, list[str]]]:
    """A host that nobody allowed, and what it was asked."""
    asked: list[str] = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Quiet."""

    server = http.server.HTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/t.jdf", asked
    server.shutdown()
    server.server_close()


def raw(office: Office, *pieces: bytes, wait_s: float = 8.0) -> bytes:
    """What a socket hears that sends these bytes and then is still."""
    host, _, port = office.address.rpartition(":")
    with socket.create_connection((host, int(port)), timeout=wait_s) as wire:
        for piece in pieces:
            wire.sendall(piece)
        heard = b""
        try:
            while chunk := wire.recv(65536):
                heard += chunk
        except ConnectionError:
            pass
        return heard


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd",
        "file:///etc/../etc/passwd",
        "file://{shop}/artwork/../shop.yaml",
        "file://{shop}/artwork/%2e%2e/shop.yaml",
        "file://{shop}/artwork/way-out/shop.yaml",
        "file://fileserver/share/t.jdf",
        "file:///proc/self/environ",
        "file:////fileserver/share/t.jdf",
        r"\\fileserver\share\t.jdf",
        "shop.yaml",
        "ftp://127.0.0.1/t.jdf",
        "data:text/xml,x",
        "http://[::1",
        "file://[::1/x",
    ],
)
def test_a_ticket_outside_the_allowed_folders_is_not_read(office: Office, url: str) -> None:
    shop = office.bridge.places.folder
    (shop / "artwork" / "way-out").symlink_to(shop)
    said = office.post(jmf(submit("c1", url.format(shop=shop))))

    assert said.codes == ["120"]
    assert b"harbourlight graphics" not in said.body.lower()
    assert b"root:" not in said.body


def test_a_file_that_is_not_there_is_told_from_one_that_may_not_be_named(office: Office) -> None:
    (office.bridge.places.folder / "artwork").mkdir(exist_ok=True)
    shop = office.bridge.places.folder

    said = office.post(jmf(submit("c1", f"file://{shop}/artwork/t.jdf")))

    assert said.codes == ["120"]
    assert "ticket.url-unreachable" in said.body.decode()


def test_no_host_is_called_that_nobody_allowed(office: Office, foreign: tuple[str, list[str]]) -> None:
    url, asked = foreign

    assert office.post(jmf(submit("c1", url))).codes == ["120"]
    assert asked == []


def test_an_allowed_address_is_called_and_nothing_beside_or_above_it(
    tmp_path: Path, foreign: tuple[str, list[str]]
) -> None:
    url, asked = foreign
    home = url.rpartition("/")[0]
    sender = JmfSender(id="mis", sender_ids=("mis",), source="mis", ticket_urls=(f"{home}/tickets",))
    for step in ("tickets/../t.jdf", "tickets/%2e%2e/t.jdf", "tickets%2f..%2ft.jdf", "ticketsX/t.jdf"):
        with pytest.raises(Refused):
            find_ticket(f"{home}/{step}", sender, Received(), tmp_path, Limits())
    assert asked == []
    assert find_ticket(f"{home}/tickets/t.jdf", sender, Received(), tmp_path, Limits()) == b""
    assert asked == ["/tickets/t.jdf"]


BOMB = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><JMF>&b;</JMF>'


@pytest.mark.parametrize(
    "body",
    [b"", b"<", b"<JMF>", b"nothing", BOMB, b"<a>" * 100_000, b'\xff\xfe<JMF/>', b'<?xml version="1.0" encoding="UTF-7"?><JMF/>'],
)  # fmt: skip
def test_what_cannot_be_read_from_an_unnamed_sender_is_refused_without_a_word(
    office: Office, body: bytes
) -> None:
    said = office.post(body)

    assert (said.status, said.body) == (403, b"")


@pytest.mark.parametrize("sender", ["Somebody", "", "harbourlight mis", "press-1 "])
def test_an_unknown_sender_hears_nothing(office: Office, sender: str) -> None:
    said = office.post(jmf(query("KnownDevices"), sender=sender))

    assert (said.status, said.body) == (403, b"")


def test_a_known_sender_with_an_invalid_message_hears_what_is_wrong(office: Office) -> None:
    said = office.post(
        jmf('<Command ID="1x" Type="SubmitQueueEntry"><QueueSubmissionParams Priority="900"/></Command>')
    )

    assert (said.status, said.codes) == (200, ["4"])
    assert said.find("Notification") is not None
    assert said.find("ErrorData") is not None


def test_too_many_messages_are_refused_as_a_whole(office: Office) -> None:
    said = office.post(jmf(*(command("HoldQueue", message_id=f"c{n}") for n in range(6))))

    assert said.codes == ["6"]


def nested() -> tuple[bytes, str]:
    inner, kind = package(("x", "text/plain", b"x"), boundary="inner")
    return package(("j", JMF, jmf(submit())), ("p", kind, inner))


def parts(count: int) -> tuple[bytes, str]:
    return package(("j", JMF, jmf(submit())), *((f"p{n}", "text/plain", b"") for n in range(count)))


def twice() -> tuple[bytes, str]:
    return package(("j", JMF, jmf(submit())), ("p", "text/xml", b"<a/>"), ("p", "text/xml", b"<b/>"))


def broken_base64() -> tuple[bytes, str]:
    body, kind = package(("j", JMF, jmf(submit())), ("p", "text/plain", b"***"))
    return body.replace(b"text/plain\r\n", b"text/plain\r\nContent-Transfer-Encoding: base64\r\n"), kind


def cut_off() -> tuple[bytes, str]:
    body, kind = submission()
    return body[:-200], kind


def long_head() -> tuple[bytes, str]:
    body, kind = package(("j", JMF, jmf(submit())), ("p", "text/plain", b"x"))
    return body.replace(b"text/plain", b"text/plain; x=" + b"y" * 40_000), kind


def no_boundary() -> tuple[bytes, str]:
    return submission()[0], "multipart/related"


def too_large() -> tuple[bytes, str]:
    return submission(art=b"x" * 2_100_000)


@pytest.mark.parametrize(
    "make",
    [nested, lambda: parts(9), twice, broken_base64, cut_off, long_head],
    ids=["nested", "part flood", "one ID twice", "broken base64", "cut off", "long head"],
)
def test_a_package_that_cannot_be_read_is_answered_with_3(
    office: Office, make: Callable[[], tuple[bytes, str]]
) -> None:
    said = office.post(*make())

    assert (said.status, said.codes) == (200, ["3"])
    assert "package." in said.body.decode()


def no_part() -> tuple[bytes, str]:
    return package()


@pytest.mark.parametrize(("make", "status"), [(no_boundary, 403), (no_part, 403), (too_large, 413)])
def test_what_is_wrong_before_its_sender_is_known_is_refused_without_a_word(
    office: Office, make: Callable[[], tuple[bytes, str]], status: int
) -> None:
    said = office.post(*make())

    assert (said.status, said.body) == (status, b"")


@pytest.mark.parametrize(
    ("message", "sender"),
    [
        (query("KnownDevices"), "Harbourlight MIS"),
        (submit("c1", "cid:nowhere"), "Harbourlight MIS"),
        (command("OpenQueue") + submit("c2", "ftp://127.0.0.1/t.jdf"), "Harbourlight MIS"),
        (command("ReturnQueueEntry", '<ReturnQueueEntryParams QueueEntryID="x" URL="cid:t"/>'), "press-1"),
    ],
)
def test_files_that_no_ticket_can_name_do_not_stay(office: Office, message: str, sender: str) -> None:
    office.post(*package(("jmf", JMF, jmf(message, sender=sender)), ("art", "application/pdf", b"%PDF-1.6")))

    for place in (office.bench.source.artwork, office.bench.lane("HL-P1-A").followed):
        assert list(place.glob("package-*")) == []


@pytest.mark.parametrize(
    ("kind", "encoding"),
    [("application/pdf", ""), ("multipart/form-data; boundary=x", ""), ("text/html", ""), (JMF, "br")],
)
def test_other_types_are_refused_unread(office: Office, kind: str, encoding: str) -> None:
    said = office.post(jmf(query("Status")), kind, **({"Content-Encoding": encoding} if encoding else {}))

    assert (said.status, said.body) == (415, b"")


def test_text_xml_and_compression_are_read(office: Office) -> None:
    assert office.post(jmf(query("Status")), "text/xml; charset=UTF-8").codes == ["0"]
    assert office.post(gzip.compress(jmf(query("Status"))), JMF, **{"Content-Encoding": "gzip"}).codes == [
        "0"
    ]


def test_a_compressed_flood_is_cut_off_at_the_limit(office: Office) -> None:
    body, kind = submission(art=b"\x00" * 50_000_000)

    said = office.post(gzip.compress(body), kind, **{"Content-Encoding": "gzip"})

    assert (said.status, said.codes) == (200, ["3"])


def test_an_endless_body_is_cut_off_and_memory_stays_flat(office: Office) -> None:
    begun, _ = submission()
    head = begun[: begun.rindex(b"\r\n\r\n") + 4]
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    def endless() -> Iterator[bytes]:
        yield head
        while True:
            yield b"x" * 65536

    with httpx2.Client(trust_env=False, timeout=20) as client:
        try:
            answer = client.post(
                f"http://{office.address}/", content=endless(), headers={"Content-Type": submission()[1]}
            )
            assert b'ReturnCode="3"' in answer.content
        except httpx2.TransportError:
            pass  # the door was shut before all was said
    grown_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown_kib < 64 * 1024


def test_a_sender_that_falls_silent_is_let_go(office: Office) -> None:
    heard = raw(
        office,
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Type: text/xml\r\nContent-Length: 5000\r\n\r\n<JMF",
    )

    assert heard.startswith(b"HTTP/1.1 408")


def test_a_sender_that_trickles_is_let_go_in_the_end(office: Office) -> None:
    host, _, port = office.address.rpartition(":")
    with socket.create_connection((host, int(port)), timeout=10) as wire:
        wire.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Type: text/xml\r\nContent-Length: 5000\r\n\r\n")
        trickling = threading.Event()

        def trickle() -> None:
            while not trickling.wait(0.2):
                try:
                    wire.sendall(b"<")
                except OSError:
                    return

        thread = threading.Thread(target=trickle, daemon=True)
        thread.start()
        heard = wire.recv(65536)
        trickling.set()
        thread.join()
    assert heard.startswith(b"HTTP/1.1 408")


def test_a_half_closed_sender_leaves_nothing_behind(office: Office) -> None:
    body, kind = submission()
    host, _, port = office.address.rpartition(":")
    with socket.create_connection((host, int(port)), timeout=10) as wire:
        head = f"POST / HTTP/1.1\r\nHost: x\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n\r\n"
        wire.sendall(head.encode() + body[: len(body) // 2])
        wire.shutdown(socket.SHUT_WR)
        wire.recv(65536)


def test_chunks_are_read_whatever_their_size(office: Office) -> None:
    body, kind = submission()
    with httpx2.Client(trust_env=False, timeout=20) as client:
        answer = client.post(
            f"http://{office.address}/any/path",
            content=(body[at : at + 97] for at in range(0, len(body), 97)),
            headers={"Content-Type": kind},
        )
    assert b'ReturnCode="0"' in answer.content
    assert b"Q000001" in answer.content


def test_other_methods_are_not_known(office: Office) -> None:
    assert raw(office, b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n").startswith(b"HTTP/1.1 405")


@pytest.mark.parametrize(
    ("written", "url", "code"),
    [
        ("<ticket>", "cid:ticket", "0"),
        ("ticket", "cid:ticket", "0"),
        ("<a%b@mis>", "cid:a%25b@mis", "0"),
        ("<ticket>", "cid:TICKET", "120"),
        ("<ticket>", "cid:%3Cticket%3E", "120"),
        ("<ticket>", "cid:", "120"),
        ("<ticket>", "cid:elsewhere", "120"),
    ],
)
def test_parts_are_named_by_their_ids_and_nothing_else(
    office: Office, written: str, url: str, code: str
) -> None:
    body, kind = submission(message=submit(url=url))
    body = body.replace(b"Content-ID: <ticket>", f"Content-ID: {written}".encode())

    assert office.post(body, kind).codes == [code]


@pytest.mark.parametrize(
    "name", ["../../../escaped.pdf", "/escaped.pdf", "C:\\escaped.pdf", "a%00b.pdf", "CON", ".."]
)
def test_a_name_in_a_header_leads_nowhere(office: Office, name: str) -> None:
    body, kind = submission()
    head = b"Content-Type: application/pdf"
    disposition = f'\r\nContent-Disposition: attachment; filename="{name}"'.encode()
    shop = office.bridge.places.folder
    before = set(shop.parent.rglob("*"))

    said = office.post(body.replace(head, head + disposition), kind)

    kept = office.bridge.source_places("mis").artwork
    fresh = {
        path
        for path in set(shop.parent.rglob("*")) - before
        if path.is_file() and path.read_bytes()[:4] == b"%PDF"
    }
    assert said.codes == ["0"]
    assert [path.parent.parent for path in fresh] == [kept]
