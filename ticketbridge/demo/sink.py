"""The MIS of the demo, as far as HTTP goes: keeps each JMF it is posted, then answers with a Response."""

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from lxml import etree

from ticketbridge.daemon import clock
from ticketbridge.jdf.writing import as_bytes, child, jdf_root, moment
from ticketbridge.spool import durable
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE


class Sink:
    """Listens on loopback until stopped. A message that comes again is kept once, by its ID."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        handler = type("Handler", (_Handler,), {"sink": self})
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
        self._thread = threading.Thread(
            target=self._server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True
        )

    @property
    def url(self) -> str:
        """Where to post."""
        return f"http://127.0.0.1:{self._server.server_address[1]}/jmf"

    def start(self) -> None:
        """Begin to listen; the folder is there by now."""
        self._thread.start()

    def stop(self) -> None:
        """End."""
        self._server.shutdown()
        self._server.server_close()

    def keep(self, body: bytes) -> bytes:
        """Keep a message, durable, and make the answer."""
        root = etree.fromstring(
            body, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        )
        first_id = root[0].get("ID", "none")
        path = self.folder / f"{first_id}.jmf"
        if not path.exists():
            durable.write_new(path, body)
        answer = jdf_root(
            "JMF", SenderID="Harbourlight order desk", TimeStamp=moment(clock.now()), Version="1.7"
        )
        for place, message in enumerate(root):
            child(
                answer,
                "Response",
                ID=f"R{place}",
                refID=message.get("ID", ""),
                Type=message.get("Type", ""),
                ReturnCode="0",
            )
        return as_bytes(answer)


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    wbufsize = -1  # headers and body in one packet; else the kernel waits 40 ms for an acknowledgement
    sink: Sink

    def do_POST(self) -> None:
        """One message."""
        answer = self.sink.keep(self.rfile.read(int(self.headers["Content-Length"])))
        self.send_response(200)
        self.send_header("Content-Type", JMF_CONTENT_TYPE)
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)
        self.wfile.flush()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  the base class names it so
        """Quiet."""
