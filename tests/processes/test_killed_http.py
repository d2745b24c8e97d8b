"""Packages posted over many connections while the bridge is killed: a positive answer is a job, whatever comes after it.

Longer by hand: ``TICKETBRIDGE_SUBMISSIONS=5000 pytest tests/processes/test_killed_http.py``.
"""

import asyncio
import os
import random
import re
import signal
import socket
import subprocess
import sys
from collections import Counter
from pathlib import Path

import httpx2
import pytest

from tests.unit.daemon.http.office import SENDERS, submission
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.demo.orders import ORDERS
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import open_view

SUBMISSIONS = int(os.environ.get("TICKETBRIDGE_SUBMISSIONS", "150"))
SEED = int(os.environ.get("TICKETBRIDGE_KILL_SEED", "20261125"))
CONNECTIONS = 50
KILLS = 2
ENTRY = re.compile(rb'<QueueEntry QueueEntryID="(Q\d+)" JobID="([^"]+)"')


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def made_shop(folder: Path, port: int) -> None:
    copy_sample_shop(folder)
    shop = folder / "shop.yaml"
    shop.write_text(shop.read_text() + SENDERS.format(more="").replace("port: 0", f"port: {port}"))
    make_folders(load_shop(folder))


def start(folder: Path) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "ticketbridge", "run", "--shop", str(folder)]
    with (folder / "run.log").open("ab") as log:
        return subprocess.Popen(command, stdout=log, stderr=log)


class Mis:
    """Submits everything over many connections, again and again until each was answered with yes."""

    def __init__(self, address: str, job_ids: list[str]) -> None:
        self._address = address
        self._left = job_ids
        self.answered: dict[str, str] = {}
        self.refused: list[bytes] = []

    async def submit_all(self) -> None:
        limits = httpx2.Limits(max_connections=CONNECTIONS)
        async with httpx2.AsyncClient(trust_env=False, timeout=90, limits=limits) as client:
            await asyncio.gather(*(self._work(client) for _ in range(CONNECTIONS)))

    async def _work(self, client: httpx2.AsyncClient) -> None:
        while self._left:
            job_id = self._left.pop()
            while job_id not in self.answered:
                await self._try(client, job_id)

    async def _try(self, client: httpx2.AsyncClient, job_id: str) -> None:
        body, kind = submission(ORDERS[0])
        body = body.replace(ORDERS[0].job_id.encode(), job_id.encode())
        try:
            answer = await client.post(self._address, content=body, headers={"Content-Type": kind})
        except httpx2.TransportError:
            await asyncio.sleep(0.1)
            return
        if b'ReturnCode="0"' in answer.content:
            match = ENTRY.search(answer.content)
            assert match is not None
            assert match[2].decode() == job_id
            self.answered[job_id] = match[1].decode()
        elif b'ReturnCode="10"' in answer.content or answer.status_code == 503:
            await asyncio.sleep(0.1)
        else:
            self.refused.append(answer.content)
            raise AssertionError(answer.content)


@pytest.mark.kill
@pytest.mark.processes
@pytest.mark.timeout(1800)
def test_every_positive_answer_is_one_job_with_its_ticket_though_the_bridge_is_killed_twice(
    tmp_path: Path,
) -> None:
    chance, port, folder = random.Random(SEED), free_port(), tmp_path / "shop"
    made_shop(folder, port)
    bridge = start(folder)
    job_ids = [f"K-{number:05d}" for number in range(SUBMISSIONS)]
    mis = Mis(f"http://127.0.0.1:{port}/jmf", list(job_ids))

    async def murder() -> None:
        nonlocal bridge
        for kill in range(1, KILLS + 1):
            while len(mis.answered) < SUBMISSIONS * kill // (KILLS + 1):
                await asyncio.sleep(chance.uniform(0.01, 0.1))
            bridge.send_signal(signal.SIGKILL)
            bridge.wait()
            bridge = start(folder)

    async def play() -> None:
        await asyncio.gather(mis.submit_all(), murder())

    try:
        asyncio.run(play())
    finally:
        bridge.terminate()
        bridge.wait(60)

    assert sorted(mis.answered) == job_ids
    places = ShopPlaces(folder)
    with open_view(places.database).transaction() as tx:
        jobs = tx.all_jobs()
        claims = {job.queue_entry_id: tx.job(job.queue_entry_id).claim_id for job in jobs}
    assert Counter(job.job_id for job in jobs) == Counter(job_ids), "each is a job, and none is one twice"
    assert {job.job_id: job.queue_entry_id for job in jobs} == mis.answered
    mine = places.source("hotfolders/mis")
    kept = {path.name.partition("~")[0] for path in mine.accepted.iterdir()}
    assert set(claims.values()) <= kept, "no job without its ticket"
    assert [path.name for path in mine.claimed.iterdir() if path.suffix == ".jdf"] == []
