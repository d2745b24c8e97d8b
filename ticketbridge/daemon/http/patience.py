"""The server's protocol, with patience for a head that does not come, and eyes for a client certificate."""

import asyncio
from typing import Any, Final, cast

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from ticketbridge.daemon.http.endpoint import CERTIFICATE

HEAD_S: Final = 10.0
"""A request's head must be there so soon after its first byte, and the first byte after the connection."""


class PatientProtocol(HttpToolsProtocol):
    """One connection."""

    _head_timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first head."""
        super().connection_made(transport)
        self._wait_for_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._stop_waiting()
        super().connection_lost(exc)

    def on_message_begin(self) -> None:
        """A request begins: its head is waited for, and told whose certificate it comes with."""
        super().on_message_begin()
        self._wait_for_head()
        shown = self.transport.get_extra_info("peercert")
        cast("dict[str, Any]", self.scope)[CERTIFICATE] = _common_name(shown)

    def on_headers_complete(self) -> None:
        """The head is there."""
        self._stop_waiting()
        super().on_headers_complete()

    def _wait_for_head(self) -> None:
        self._stop_waiting()
        self._head_timer = self.loop.call_later(HEAD_S, self._give_up)

    def _stop_waiting(self) -> None:
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None

    def _give_up(self) -> None:
        if self.transport is not None and not self.transport.is_closing():
            self.transport.close()


def _common_name(certificate: Any) -> str | None:
    """The common name in a certificate as the ssl module gives it."""
    for field in (certificate or {}).get("subject", ()):
        for name, value in field:
            if name == "commonName":
                return str(value)
    return None
