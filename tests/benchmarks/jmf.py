"""JMF by HTTP beside a bare server: ``python -m tests.benchmarks.jmf``.

The bare one is the same server (starlette, uvicorn, httptools) that parses what it is sent and answers with fixed
bytes. Both run as processes of their own and are asked in turn, so that the machine's mood falls on both. The client
is plain sockets with connections kept open. Submissions are of the bridge alone: nothing bare keeps a promise.
"""

import argparse
import asyncio
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import uvicorn
from lxml import etree
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tests.processes.test_killed_http import free_port, made_shop, start
from tests.unit.daemon.http.office import JMF, jmf, query, submission
from ticketbridge.demo.orders import ORDERS

ASKED = {
    "KnownDevices": jmf(query("KnownDevices")),
    "QueueStatus, one job": jmf(query("QueueStatus", '<QueueFilter JobID="B-00001"/>')),
    "Status": jmf(query("Status")),
}
FIXED = jmf('<Response ID="r" Type="Status" refID="q1" ReturnCode="0"/>')


async def bare(request: Request) -> Response:
    """Parse and answer, and no more."""
    etree.fromstring(await request.body())
    return Response(FIXED, headers={"Content-Type": JMF})


def serve_bare(port: int) -> None:
    app = Starlette(routes=[Route("/{path:path}", bare, methods=["POST"])])
    uvicorn.run(app, host="127.0.0.1", port=port, http="httptools", loop="asyncio", log_level="error")


class Connection:
    """One connection that stays open."""

    def __init__(self, port: int) -> None:
        self._port = port

    async def open(self) -> None:
        self._reader, self._writer = await asyncio.open_connection("127.0.0.1", self._port)

    async def post(self, body: bytes, kind: str = JMF) -> bytes:
        head = f"POST /jmf HTTP/1.1\r\nHost: x\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n\r\n"
        self._writer.write(head.encode() + body)
        answer = await self._reader.readuntil(b"\r\n\r\n")
        length = next(
            int(line[15:]) for line in answer.lower().split(b"\r\n") if line.startswith(b"content-length:")
        )
        return await self._reader.readexactly(length)


async def ask(port: int, body: bytes, count: int, connections: int) -> tuple[list[float], float]:
    """Milliseconds of each exchange, and exchanges a second."""
    taken: list[float] = []

    async def work() -> None:
        wire = Connection(port)
        await wire.open()
        for _ in range(count // connections):
            before = time.perf_counter()
            answer = await wire.post(body)
            taken.append((time.perf_counter() - before) * 1000)
            assert b'ReturnCode="0"' in answer, answer

    began = time.perf_counter()
    await asyncio.gather(*(work() for _ in range(connections)))
    return taken, len(taken) / (time.perf_counter() - began)


async def submit(port: int, first: int, count: int, connections: int) -> tuple[list[float], float]:
    """The same for packages, each a job of its own."""
    numbers = iter(range(first, first + count))
    taken: list[float] = []

    async def work() -> None:
        wire = Connection(port)
        await wire.open()
        for number in numbers:
            body, kind = submission(ORDERS[0])
            before = time.perf_counter()
            answer = await wire.post(
                body.replace(ORDERS[0].job_id.encode(), f"B-{number:05d}".encode()), kind
            )
            taken.append((time.perf_counter() - before) * 1000)
            assert b'ReturnCode="0"' in answer, answer

    began = time.perf_counter()
    await asyncio.gather(*(work() for _ in range(connections)))
    return taken, count / (time.perf_counter() - began)


def row(what: str, taken: list[float], rate: float) -> str:
    quantiles = statistics.quantiles(taken, n=100)
    return f"| {what} | {quantiles[49]:.1f} / {quantiles[98]:.1f} | {rate:.0f} |"


async def until_open(port: int) -> None:
    for _ in range(600):
        try:
            _, writer = await asyncio.open_connection("127.0.0.1", port)
        except OSError:
            await asyncio.sleep(0.1)
        else:
            writer.close()
            return
    raise AssertionError(f"nothing listens on {port}")


async def measure(ports: dict[str, int], rounds: int, count: int) -> None:
    for port in ports.values():
        await until_open(port)
    print("| asked | p50 / p99 ms | a second |\n|---|---|---|")
    for connections in (1, 50):
        taken, rate = await submit(ports["the bridge"], 1 + connections * 1000, count // 4, connections)
        print(row(f"SubmitQueueEntry by cid:, {connections} connections", taken, rate))
        for what, body in ASKED.items():
            found: dict[str, list[tuple[list[float], float]]] = {name: [] for name in ports}
            asked = body.replace(b"B-00001", f"B-{1 + connections * 1000:05d}".encode())
            for _ in range(rounds):
                for name, port in ports.items():
                    found[name].append(await ask(port, asked, count, connections))
            for name, runs in found.items():
                times = [one for run, _ in runs for one in run]
                rate = statistics.median(rate for _, rate in runs)
                print(row(f"{what}, {connections} connections: {name}", times, rate))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--bare", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--count", type=int, default=1000)
    options = parser.parse_args()
    if options.bare:
        serve_bare(options.bare)
        return
    ports = {"the bridge": free_port(), "bare": free_port()}
    with tempfile.TemporaryDirectory() as folder:
        made_shop(Path(folder) / "shop", ports["the bridge"])
        command = [sys.executable, "-m", "tests.benchmarks.jmf", "--bare", str(ports["bare"])]
        running = [start(Path(folder) / "shop"), subprocess.Popen(command)]
        try:
            asyncio.run(measure(ports, options.rounds, options.count))
        finally:
            for process in running:
                process.terminate()
                process.wait(30)


if __name__ == "__main__":
    main()
