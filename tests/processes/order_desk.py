"""The MIS side by HTTP: submits packages to the bridge, and takes signals and finished tickets at its own address."""

import threading
import urllib.request
from email import message_from_bytes
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from lxml import etree

NAMESPACE = "http://www.CIP4.org/JDFSchema_1_1"
JDF = f"{{{NAMESPACE}}}"
HEAD = f'<JMF xmlns="{NAMESPACE}" SenderID="order-desk" TimeStamp="2026-11-25T09:00:00Z" Version="1.7">'


class OrderDesk:
    """Listens on loopback; ``failing`` more posts are answered with HTTP 503 first."""

    def __init__(self) -> None:
        self.failing = 0
        self.signals: list[etree._Element] = []
        self.signal_ids: list[str] = []
        self.returned: dict[str, list[bytes]] = {}
        self._lock = threading.Lock()
        handler = type("Handler", (_Handler,), {"desk": self})
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}/jmf"

    def stop(self) -> None:
        self._server.shutdown()
        self._server.server_close()

    def post(self, bridge_url: str, content_type: str, body: bytes) -> etree._Element:
        """Say something to the bridge."""
        request = urllib.request.Request(bridge_url, body, {"Content-Type": content_type})
        with urllib.request.urlopen(request, timeout=30) as answer:
            return etree.fromstring(answer.read())

    def submit(self, bridge_url: str, message_id: str, ticket: bytes, artwork: dict[str, bytes]) -> int:
        """SubmitQueueEntry with everything in one package. Returns the ReturnCode."""
        params = f'<QueueSubmissionParams URL="cid:ticket" ReturnJMF="{self.url}"/>'
        jmf = f'{HEAD}<Command ID="{message_id}" Type="SubmitQueueEntry">{params}</Command></JMF>'.encode()
        parts = [
            ("jmf", "application/vnd.cip4-jmf+xml", jmf),
            ("ticket", "application/vnd.cip4-jdf+xml", ticket),
        ]
        parts += [(name, "application/pdf", data) for name, data in artwork.items()]
        body = b"".join(
            f"--b\r\nContent-Type: {kind}\r\nContent-ID: <{name}>\r\n\r\n".encode() + data + b"\r\n"
            for name, kind, data in parts
        )
        answer = self.post(bridge_url, "multipart/related; boundary=b", body + b"--b--\r\n")
        return int(answer[0].get("ReturnCode"))

    def subscribe(self, bridge_url: str, kind: str) -> int:
        """Open a channel to our own address. Returns the ReturnCode."""
        query = f'<Query ID="sub-{kind}" Type="{kind}"><Subscription URL="{self.url}" ChannelMode="Reliable"/></Query>'
        answer = self.post(bridge_url, "application/vnd.cip4-jmf+xml", f"{HEAD}{query}</JMF>".encode())
        return int(answer[0].get("ReturnCode"))

    def keep(self, content_type: str, body: bytes) -> bytes | None:
        """The answer to what the bridge posted; None where it fails now."""
        with self._lock:
            if self.failing > 0:
                self.failing -= 1
                return None
            return self._keep(content_type, body)

    def _keep(self, content_type: str, body: bytes) -> bytes:
        jmf = body
        if content_type.startswith("multipart/related"):
            mail = message_from_bytes(f"Content-Type: {content_type}\r\n\r\n".encode() + body)
            jmf, ticket = (part.get_payload(decode=True) for part in mail.get_payload())
            job_id = etree.fromstring(ticket).get("JobID")
            self.returned.setdefault(job_id, []).append(ticket)
        messages = list(etree.fromstring(jmf))
        self.signals += messages
        self.signal_ids += [one.get("ID") for one in messages]
        responses = "".join(
            f'<Response ID="R{place}" refID="{one.get("ID")}" Type="{one.get("Type")}" ReturnCode="0"/>'
            for place, one in enumerate(messages)
        )
        return f"{HEAD}{responses}</JMF>".encode()


class _Handler(BaseHTTPRequestHandler):
    desk: OrderDesk

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        answer = self.desk.keep(self.headers["Content-Type"], body)
        self.send_response(503 if answer is None else 200)
        self.send_header("Content-Length", str(len(answer or b"")))
        self.end_headers()
        self.wfile.write(answer or b"")

    def log_message(self, *args: object) -> None:
        pass
