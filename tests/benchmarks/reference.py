"""The reference: everything that an honest bridge cannot leave out, and nothing else.

Watchdog, a queue, one worker. A ticket is claimed, parsed, judged by the schema, its references looked up; then
come four syncs: commit "accepted", the lane's file, the lane's folder, commit "routed"; one rename delivers.
``strict`` takes one ticket at a time. ``group`` lets up to 64 share their commits and the folder's sync, and
writes the lane's files from four threads. There are no rules, layouts, revisions, messages or rescue here.

    python -m tests.benchmarks.reference strict|group FOLDER

Watches FOLDER/source/drop, delivers into FOLDER/lane, says "ready" and ends when standard input closes.
"""

import hashlib
import os
import queue
import sqlite3
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from lxml import etree
from watchdog.events import FileSystemEvent, FileSystemEventHandler
from watchdog.observers import Observer

from tests.benchmarks.schema_choice import SCHEMA

NAMESPACE = "http://www.CIP4.org/JDFSchema_1_1"
JDF = f"{{{NAMESPACE}}}"
MOST = {"strict": 1, "group": 64}
TABLES = """
    CREATE TABLE ticket (claim TEXT PRIMARY KEY, job_id TEXT, sha256 TEXT, state TEXT);
    CREATE INDEX ticket_by_job ON ticket (job_id);
"""


@dataclass(frozen=True, slots=True)
class Ticket:
    claim: str
    job_id: str
    sha256: str
    for_lane: bytes


class Hints(FileSystemEventHandler):
    """Names that appear in the drop folder, and nothing else in watchdog's thread."""

    def __init__(self, drop: Path, names: "queue.SimpleQueue[str | None]") -> None:
        self._drop = str(drop)
        self._names = names

    def on_created(self, event: FileSystemEvent) -> None:
        folder, _, name = os.fsdecode(event.src_path).rpartition("/")
        if folder == self._drop:
            self._names.put(name)


class Reference:
    def __init__(self, folder: Path, variant: str) -> None:
        source = folder / "source"
        self._drop, self._claimed, self._accepted = source / "drop", source / "claimed", source / "accepted"
        self._lane = folder / "lane"
        for place in (self._drop, self._claimed, self._accepted, self._lane):
            place.mkdir(parents=True, exist_ok=True)
        self._most = MOST[variant]
        self._writers = ThreadPoolExecutor(4) if self._most > 1 else None
        self._parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        self._schema = etree.XMLSchema(etree.parse(str(SCHEMA)))
        self._database = sqlite3.connect(folder / "reference.sqlite", isolation_level=None)
        self._database.execute("PRAGMA journal_mode=WAL")
        self._database.execute("PRAGMA synchronous=FULL")
        self._database.executescript(TABLES)
        self._names: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def run(self) -> None:
        observer = Observer()
        observer.schedule(Hints(self._drop, self._names), str(self._drop.parent), recursive=True)
        observer.start()
        threading.Thread(target=self._stop_at_eof, daemon=True).start()
        print("ready", flush=True)
        while (name := self._names.get()) is not None:
            batch = [name]
            while len(batch) < self._most and not self._names.empty():
                more = self._names.get()
                if more is None:
                    return
                batch.append(more)
            self._take(batch)

    def _stop_at_eof(self) -> None:
        sys.stdin.read()
        self._names.put(None)

    def _take(self, names: list[str]) -> None:
        tickets = [self._read(name) for name in names]
        rows = [(one.claim, one.job_id, one.sha256) for one in tickets]
        self._commit("INSERT INTO ticket VALUES (?, ?, ?, 'accepted')", rows)
        if self._writers is None:
            self._write(tickets[0])
        else:
            list(self._writers.map(self._write, tickets))
        sync_folder(self._lane)
        self._commit("UPDATE ticket SET state = 'routed' WHERE claim = ?", [(one.claim,) for one in tickets])
        for one in tickets:
            os.rename(self._lane / f".{one.claim}", self._lane / one.claim)
            os.rename(self._claimed / one.claim, self._accepted / one.claim)

    def _read(self, name: str) -> Ticket:
        claimed = self._claimed / name
        os.rename(self._drop / name, claimed)
        data = claimed.read_bytes()
        root = etree.fromstring(data, self._parser)
        self._schema.assertValid(root)
        known = set(root.xpath("//@ID"))
        if not known.issuperset(root.xpath("//@rRef")):
            raise ValueError(f"{name} points nowhere")
        return Ticket(name, root.get("JobID"), hashlib.sha256(data).hexdigest(), for_lane(root))

    def _write(self, ticket: Ticket) -> None:
        with (self._lane / f".{ticket.claim}").open("wb") as file:
            file.write(ticket.for_lane)
            file.flush()
            os.fsync(file.fileno())

    def _commit(self, statement: str, rows: list[tuple[str, ...]]) -> None:
        self._database.execute("BEGIN IMMEDIATE")
        self._database.executemany(statement, rows)
        self._database.execute("COMMIT")


def sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    os.fsync(descriptor)
    os.close(descriptor)


def for_lane(order: etree._Element) -> bytes:
    """One Combined node with what a press must know: substrate, size, inks, artwork, pieces."""
    root = etree.Element(f"{JDF}JDF", ID="n1", Type="Combined", Status="Waiting", nsmap={None: NAMESPACE})
    root.set("JobID", order.get("JobID"))
    root.set("Types", "Interpreting Rendering DigitalPrinting")
    pool, links = (
        etree.SubElement(root, f"{JDF}ResourcePool"),
        etree.SubElement(root, f"{JDF}ResourceLinkPool"),
    )
    brand = order.find(f".//{JDF}StockBrand").get("Preferred")
    etree.SubElement(
        pool, f"{JDF}Media", ID="m", Class="Consumable", Status="Available", DescriptiveName=brand
    )
    size = order.find(f".//{JDF}FinishedDimensions").get("Preferred")
    etree.SubElement(pool, f"{JDF}Component", ID="c", Class="Quantity", Status="Unavailable", Dimensions=size)
    colours = etree.SubElement(pool, f"{JDF}ColorantControl", ID="k", Class="Parameter", Status="Available")
    for ink in order.iterfind(f".//{JDF}SeparationSpec"):
        etree.SubElement(colours, f"{JDF}SeparationSpec", Name=ink.get("Name"))
    pages = etree.SubElement(pool, f"{JDF}RunList", ID="r", Class="Parameter", Status="Available")
    file = etree.SubElement(etree.SubElement(pages, f"{JDF}LayoutElement"), f"{JDF}FileSpec")
    file.set("URL", order.find(f".//{JDF}FileSpec").get("URL"))
    for name, id_ in (("Media", "m"), ("ColorantControl", "k"), ("RunList", "r")):
        etree.SubElement(links, f"{JDF}{name}Link", Usage="Input", rRef=id_)
    pieces = order.find(f".//{JDF}ComponentLink").get("Amount")
    etree.SubElement(links, f"{JDF}ComponentLink", Usage="Output", rRef="c", Amount=pieces)
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


if __name__ == "__main__":
    Reference(Path(sys.argv[2]).resolve(), sys.argv[1]).run()
