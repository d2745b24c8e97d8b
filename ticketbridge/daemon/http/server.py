"""The HTTP server as a thread of the service, with an event loop of its own."""

import asyncio
import math
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
from ticketbridge.daemon.http.receiving import sweep, sweep_packages
from ticketbridge.store.records import WorldFault

THREADS: Final = 4
"""For disks, parsing and views of the store; what waits for the flow waits in the event loop and takes none."""
BEAT_S: Final = 1.0


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
        for source_id in {sender.source for sender in self._desk.settings.senders if sender.source}:
            self._sweep(source_id)
        asyncio.run(self._serve())

    def _sweep(self, source_id: str) -> None:
        """What a crash left of packages goes, before the first new one comes.

        Where several bridges share the shop, another may be receiving just now: not for longer than is allowed.
        """
        places, now_s = self._desk.bridge.source_places(source_id), clock.now().timestamp()
        shared = self._desk.bridge.share.names is not None
        try:
            sweep(places.artwork, now_s - self._desk.settings.limits.receive_s if shared else math.inf)
            with self._desk.view.transaction() as tx:
                tickets = (places.claimed, places.waiting, places.refused)
                sweep_packages(places.artwork, tickets, tx.orders_of(source_id), now_s)
        except (OSError, *WorldFault) as error:  # a share yet to be mounted; the next start looks again
            self._desk.notices.tell("jmf.not-swept", source=source_id, reason=str(error))

    def stop(self) -> None:
        """Take no more requests; those in hand are answered."""
        self._server.should_exit = True

    async def _serve(self) -> None:
        serving = asyncio.create_task(self._server.serve())
        told = False
        while not serving.done():
            self._heartbeats.beat(self.name)
            if self._server.started and not told:
                told = True
                self._desk.notices.tell("jmf.listening", address=self.address())
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
