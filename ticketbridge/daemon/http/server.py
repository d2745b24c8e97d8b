"""The HTTP server as a thread of the service, with an event loop of its own."""

import asyncio
import ssl
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

import uvicorn

from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.http.desk import Desk
from ticketbridge.daemon.http.endpoint import Endpoint
from ticketbridge.daemon.http.partners import Partners
from ticketbridge.daemon.http.passwords import Doorkeeper, read_passwords
from ticketbridge.daemon.http.patience import PatientProtocol
from ticketbridge.daemon.http.receiving import ABOUT_TO_S, sweep, sweep_packages
from ticketbridge.store.records import WorldFault

THREADS: Final = 4
"""For disks, parsing and views of the store; what waits for the flow waits in the event loop and takes none."""
BEAT_S: Final = 1.0
SWEEP_S: Final = 6 * 3600.0
IN_HAND_S: Final = 3600.0
"""A package is in hand while it is received and answered, whose limits are configured, and for no hour after."""


class HttpLoop(threading.Thread):
    """Listens for JMF."""

    def __init__(self, desk: Desk, shop_folder: Path, heartbeats: Heartbeats) -> None:
        """Begin; nothing is listened for before ``start``.

        Raises:
            OSError: A file of certificates or passwords is not there.
            ValueError: The file of passwords is none.
        """
        super().__init__(name="jmf", daemon=True)
        settings = desk.settings
        hashes = read_passwords(shop_folder / settings.passwords) if settings.passwords else {}
        self._desk = desk
        self._heartbeats = heartbeats
        self._threads = ThreadPoolExecutor(max_workers=THREADS, thread_name_prefix="jmf")
        partners = Partners(settings.senders, Doorkeeper(hashes))
        app = Endpoint(desk, partners, self._threads)
        self._server = uvicorn.Server(_config(app, desk, shop_folder))

    def run(self) -> None:
        """Until stopped."""
        for source_id in self._sources():
            self._sweep(source_id, at_start=True)
        asyncio.run(self._serve())

    def _sources(self) -> set[str]:
        return {sender.source for sender in self._desk.settings.senders if sender.source}

    def sweep_again(self) -> None:
        """What nobody names of packages goes while the bridge runs, too, once it is in nobody's hand any more."""
        for source_id in self._sources():
            self._sweep(source_id, at_start=False)

    def _sweep(self, source_id: str, *, at_start: bool) -> None:
        """At a start, what a crash left of packages goes before the first new one comes."""
        bridge, limits = self._desk.bridge, self._desk.settings.limits
        places, now_s = bridge.source_places(source_id), clock.now().timestamp()
        alone = bridge.share.names is None
        about_to_s = ABOUT_TO_S if at_start else limits.receive_s + limits.answer_s + IN_HAND_S
        try:
            if at_start:
                sweep(places.artwork, None if alone else limits.receive_s, now_s)
            with self._desk.view.transaction() as tx:
                tickets = (places.claimed, places.waiting, places.refused)
                sweep_packages(places.artwork, tickets, tx.orders_of(source_id), now_s, about_to_s)
        except (OSError, *WorldFault) as error:  # a share yet to be mounted; the next start looks again
            self._desk.notices.tell("jmf.not-swept", source=source_id, reason=str(error))

    def stop(self) -> None:
        """Take no more requests. Those in hand are answered; the flow has ended, so who waits for it is told so."""
        self._server.should_exit = True
        self._desk.give_up()

    async def _serve(self) -> None:
        serving = asyncio.create_task(self._server.serve())
        told = False
        sweep_at_s = clock.monotonic() + SWEEP_S
        while not serving.done():
            self._heartbeats.beat(self.name)
            if self._server.started and not told:
                told = True
                self._desk.notices.tell("jmf.listening", address=self.address())
            if clock.monotonic() >= sweep_at_s:
                sweep_at_s = clock.monotonic() + SWEEP_S
                self._threads.submit(self.sweep_again)
            await asyncio.wait([serving], timeout=BEAT_S if told else 0.05)
        if not told:
            self._desk.notices.failing("jmf is not listened for", reason=self.wanted())
        self._threads.shutdown(wait=False)

    def address(self) -> str:
        """Where it listens."""
        for server in self._server.servers:
            for socket in server.sockets:
                host, port = socket.getsockname()[:2]
                return f"{host}:{port}"
        return self.wanted()

    def wanted(self) -> str:
        """Where it was to listen."""
        return f"{self._desk.settings.host}:{self._desk.settings.port}"


def _config(app: object, desk: Desk, shop_folder: Path) -> uvicorn.Config:
    settings = desk.settings
    named = (settings.certificate_file, settings.key_file, settings.client_authority_file)
    certificate, key, authority = (None if name is None else str(shop_folder / name) for name in named)
    wanted = any(sender.certificate for sender in settings.senders)
    return uvicorn.Config(
        app,  # type: ignore[arg-type]
        host=settings.host,
        port=settings.port,
        loop="asyncio",
        http=PatientProtocol,
        lifespan="off",
        ws="none",
        log_config=None,
        access_log=False,
        server_header=False,
        date_header=True,
        proxy_headers=False,
        limit_concurrency=settings.limits.connections,
        timeout_keep_alive=30,
        timeout_graceful_shutdown=10,
        ssl_certfile=certificate,
        ssl_keyfile=key,
        ssl_ca_certs=authority,
        ssl_cert_reqs=ssl.CERT_OPTIONAL if wanted else ssl.CERT_NONE,
    )
