"""A small receiver of JMF for people who want to see what a partner sends: loopback only, nothing is kept."""

from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Final

from lxml import etree

from ticketbridge.daemon import clock
from ticketbridge.jdf.writing import as_bytes, as_text, child, jdf_root, moment
from ticketbridge.vocabulary.names import JMF_CONTENT_TYPE, jdf

MOST_BYTES: Final = 16 * 1024 * 1024
ANSWERED: Final = ("Signal", "Command", "Query", "Registration")


def listen_for_people(
    port: int, count: int | None, started: Callable[[str], None], show: Callable[[str], None]
) -> None:
    """Answer every message with ReturnCode 0 and show it, until stopped or until so many came.

    Args:
        port: On 127.0.0.1; 0 takes any.
        count: End after so many documents; None goes on.
        started: Told the address, once it listens.
        show: Told each document as text.
    """
    handler = type("Handler", (_Handler,), {"show": staticmethod(show)})
    with HTTPServer(("127.0.0.1", port), handler) as server:
        started(f"http://127.0.0.1:{server.server_address[1]}/")
        try:
            while count is None or count > 0:
                server.handle_request()
                count = None if count is None else count - 1
        except KeyboardInterrupt:
            return


def answer_kindly(body: bytes) -> tuple[str, bytes]:
    """A document as text for people, and the Responses to its messages.

    Anything that is no JMF is shown as it is and answered with ReturnCode 3 (JMF: not parseable).
    """
    answer = jdf_root("JMF", SenderID="listener", TimeStamp=moment(clock.now()), Version="1.7")
    try:
        root = etree.fromstring(
            body, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        )
    except etree.XMLSyntaxError:
        child(answer, "Response", ID="R0", Type="Notification", ReturnCode="3")
        return body.decode(errors="replace"), as_bytes(answer)
    for place, message in enumerate(one for family in ANSWERED for one in root.iterchildren(jdf(family))):
        child(
            answer, "Response", ID=f"R{place}", refID=message.get("ID", ""), Type=message.get("Type", "")
        ).set("ReturnCode", "0")
    return as_text(root), as_bytes(answer)


class _Handler(BaseHTTPRequestHandler):
    timeout = 30
    show: Callable[[str], None]

    def do_POST(self) -> None:
        """One document."""
        length = min(int(self.headers.get("Content-Length") or 0), MOST_BYTES)
        text, answer = answer_kindly(self.rfile.read(length))
        type(self).show(text)
        self.send_response(200)
        self.send_header("Content-Type", JMF_CONTENT_TYPE)
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  the base class names it so
        """Quiet."""
