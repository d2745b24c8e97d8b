"""The HTTP around the counter: one POST, one answer; loopback only."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Final

from ticketbridge.press_sim import safe_xml
from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.http.channels import Channels
from ticketbridge.press_sim.http.counter import Counter
from ticketbridge.press_sim.http.herald import Herald
from ticketbridge.press_sim.http.mischief import Mischief, Trick
from ticketbridge.press_sim.http.parcels import NotAParcel, unpacked
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.settings import PressSettings
from ticketbridge.press_sim.simulator import Simulator
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE

MOST_BYTES: Final = 64 * 1024 * 1024
NEVER_S: Final = 120.0
"""Longer than anybody waits."""
HOLD_S: Final = 0.1


@contextmanager
def spoken_to(press: PressSettings, places: Places, simulator: Simulator, clock: Clock) -> Iterator[None]:
    """While this lasts the press takes JMF and speaks by itself; a press without a port does neither."""
    if press.http_port is None:
        yield
        return
    channels, mischief = Channels(places.channels), Mischief(places.mischief)
    counter = Counter(press, simulator, channels, clock)
    stopping = threading.Event()
    made = {"counter": counter, "simulator": simulator, "mischief": mischief, "stopping": stopping}
    handler = type("Handler", (_Handler,), made)
    server = ThreadingHTTPServer(("127.0.0.1", press.http_port), handler)
    server.daemon_threads = True
    _write_port(places.mischief.parent / "http-port", server.server_address[1])
    herald = Herald(press, simulator, channels, mischief, clock)
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    herald.start()
    try:
        yield
    finally:
        herald.stop()
        stopping.set()
        server.shutdown()
        server.server_close()


def _write_port(path: Path, port: int) -> None:
    """For whoever let the press choose: the port, in the control folder."""
    path.write_text(f"{port}\n")


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    timeout = 30
    wbufsize = -1
    counter: Counter
    simulator: Simulator
    mischief: Mischief
    stopping: threading.Event

    def do_POST(self) -> None:
        """One document."""
        body = self.rfile.read(min(int(self.headers.get("Content-Length") or 0), MOST_BYTES))
        try:
            jmf, parts = unpacked(self.headers.get("Content-Type", ""), body)
            root = safe_xml.parse(jmf)
        except (NotAParcel, safe_xml.NotReadable):
            self.send_error(400)
            return
        trick = self.mischief.for_answer([message.get("Type", "") for message in root])
        if trick.kind == "deaf":
            self._hang_up()
            return
        code = int(trick.number) if trick.kind == "refuse" else None
        answer = self.simulator.desk.ask(lambda: self.counter.answer(root, parts, code))
        if trick.kind == "wrong-code":
            answer = self.simulator.desk.ask(lambda: self.counter.answer(root, parts, int(trick.number)))
        self._answer(answer, trick)

    def _answer(self, answer: bytes, trick: Trick) -> None:
        if trick.kind == "silence":
            self._hang_up()
            return
        if trick.kind == "late":
            self._wait(trick.number)
        self.send_response(200)
        self.send_header("Content-Type", JMF_CONTENT_TYPE)
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer[: len(answer) // 2] if trick.kind == "cut" else answer)
        self.wfile.flush()
        if trick.kind == "cut":
            self.close_connection = True

    def _hang_up(self) -> None:
        """No answer, and the line stays open until the other side loses its patience."""
        self._wait(NEVER_S)
        self.close_connection = True

    def _wait(self, seconds: float) -> None:
        until_s = time.monotonic() + seconds
        while time.monotonic() < until_s and not self.stopping.is_set():
            time.sleep(HOLD_S)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  the base class names it so
        """Quiet."""
