"""A subscriber as a program of its own: what it is sent stands durably in its journal before it says that it has it.

Knows nothing of the bridge. ``python signal_sink.py PORT JOURNAL`` ends when its standard input closes; killed and
started again it goes on writing at the end of the same journal.
"""

import base64
import json
import os
import re
import sys
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

MESSAGE = re.compile(rb'<(?:Signal|Command)\b[^>]*?\bID="([^"]+)"')
HEAD = '<JMF xmlns="http://www.CIP4.org/JDFSchema_1_1" SenderID="sink" TimeStamp="2026-11-25T09:00:00Z" Version="1.7">'


class Sink(ThreadingHTTPServer):
    """Appends one line for each post."""

    def __init__(self, port: int, journal: str) -> None:
        super().__init__(("127.0.0.1", port), Handler)
        self._journal = os.open(journal, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
        self._lock = threading.Lock()

    def keep(self, path: str, content_type: str, body: bytes) -> None:
        row = {"path": path, "type": content_type, "body": base64.b64encode(body).decode()}
        with self._lock:
            os.write(self._journal, json.dumps(row).encode() + b"\n")
            os.fdatasync(self._journal)


class Handler(BaseHTTPRequestHandler):
    """Takes everything."""

    server: Sink

    def do_POST(self) -> None:
        length = int(self.headers["Content-Length"])
        body = self.rfile.read(length)
        if len(body) < length:
            return  # whoever posted it was killed in the middle
        self.server.keep(self.path, self.headers["Content-Type"], body)
        responses = "".join(
            f'<Response ID="R{place}" refID="{one.decode()}" Type="Any" ReturnCode="0"/>'
            for place, one in enumerate(MESSAGE.findall(body))
        )
        answer = f"{HEAD}{responses}</JMF>".encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/vnd.cip4-jmf+xml")
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *args: object) -> None:
        pass


if __name__ == "__main__":
    sink = Sink(int(sys.argv[1]), sys.argv[2])
    threading.Thread(target=sink.serve_forever, daemon=True).start()
    while os.read(0, 4096):
        pass
    os._exit(0)
