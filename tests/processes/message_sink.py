"""A small address for a press to post to: signals and tickets become files in its lane's folders, answered with 0.

It stands for the bridge's own endpoint where only the way to the press and back is in question. Can be made to
fail for a while.
"""

import itertools
import threading
from email import message_from_bytes
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from lxml import etree

JDF = "{http://www.CIP4.org/JDFSchema_1_1}"


class MessageSink:
    """Keeps what is posted; ``failing`` more posts are answered with HTTP 503 first."""

    def __init__(self, lane_folder: Path) -> None:
        self.lane_folder = lane_folder
        self.failing = 0
        self.count = itertools.count(1)
        self.signal_ids: list[str] = []
        self._lock = threading.Lock()
        handler = type("Handler", (_Handler,), {"sink": self})
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}/jmf"

    def stop(self) -> None:
        self._server.shutdown()
        self._server.server_close()

    def keep(self, content_type: str, body: bytes) -> bytes | None:
        """The answer; None where it fails now."""
        with self._lock:
            if self.failing > 0:
                self.failing -= 1
                return None
            return self._keep(content_type, body)

    def _keep(self, content_type: str, body: bytes) -> bytes:
        number = next(self.count)
        if content_type.startswith("multipart/related"):
            mail = message_from_bytes(f"Content-Type: {content_type}\r\n\r\n".encode() + body)
            jmf, ticket = (part.get_payload(decode=True) for part in mail.get_payload())
            self._show(self.lane_folder / "returned" / f"{number:06d}.jdf", ticket)
        else:
            jmf = body
            self._show(self.lane_folder / "status" / f"{number:06d}.jmf", jmf)
        messages = list(etree.fromstring(jmf))
        self.signal_ids += [one.get("ID") for one in messages]
        responses = "".join(
            f'<Response ID="R{place}" refID="{one.get("ID")}" Type="{one.get("Type")}" ReturnCode="0"/>'
            for place, one in enumerate(messages)
        )
        head = f'<JMF xmlns="{JDF[1:-1]}" SenderID="sink" TimeStamp="2026-11-25T09:00:00Z" Version="1.7">'
        return f"{head}{responses}</JMF>".encode()

    def _show(self, path: Path, data: bytes) -> None:
        hidden = path.with_name(f".{path.name}.tmp")
        hidden.write_bytes(data)
        hidden.rename(path)


class _Handler(BaseHTTPRequestHandler):
    sink: MessageSink

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        answer = self.sink.keep(self.headers["Content-Type"], body)
        self.send_response(503 if answer is None else 200)
        self.send_header("Content-Length", str(len(answer or b"")))
        self.end_headers()
        self.wfile.write(answer or b"")

    def log_message(self, *args: object) -> None:
        pass
