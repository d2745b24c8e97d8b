"""A shop folder with a bridge in this process, for tests that turn the flow by hand."""

import atexit
import functools
import itertools
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from lxml import etree

from tests.stores import chosen
from tests.unit.made import NOW
from ticketbridge.accept.claim import Claimed, Claimer
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.demo.orders import ORDERS, DemoOrder, artwork, ticket
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.keep.rescue import rescue
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.jdf.writing import as_bytes, child, jdf_root, moment
from ticketbridge.model.shop import Shop
from ticketbridge.spool.places import LanePlaces, ShopPlaces, SourcePlaces
from ticketbridge.vocabulary.names import jdf

BANNER, CANVAS = ORDERS[0], ORDERS[1]
COUNTER_HEADINGS = "Order;Customer;Due;Product;Width cm;Height cm;Pieces;Material;Quality;Artwork"


def counter_line(
    job_id: str, *, width_cm: str = "100", pieces: str = "2", stock: str = "Harbour Banner 510"
) -> str:
    """One order line as the counter writes it."""
    product = f"{job_id};Tidewatch Museum;31.12.2099;Banner;{width_cm};50;{pieces};{stock};Balanced"
    return f"{product};{job_id}.pdf"


@functools.cache
def _made_shop() -> Path:
    """The sample shop with its folders, made once for all tests of this process."""
    folder = Path(tempfile.mkdtemp(prefix="ticketbridge-bench-")) / "shop"
    atexit.register(shutil.rmtree, folder.parent)
    copy_sample_shop(folder)
    make_folders(load_shop(folder))
    (ShopPlaces(folder).source("hotfolders/mis").drop / "art").mkdir()
    return folder


def _shop_in(folder: Path) -> Shop:
    """The shop as its files are now. Reading them takes longer than most tests do, so it is done once for each content."""
    files = (path for path in sorted(folder.rglob("*")) if path.suffix in (".yaml", ".csv", ".xlsx"))
    content = tuple(
        (str(path.relative_to(folder)), _but_store(path.read_bytes())) for path in files if path.is_file()
    )
    if content not in _SHOPS:
        _SHOPS[content] = load_shop(folder).shop
    return _SHOPS[content]


def _but_store(settings: bytes) -> bytes:
    """The store is no part of the shop that a bridge is handed."""
    return re.sub(rb"(?m)^store: .*\n", b"", settings)


_SHOPS: dict[tuple[tuple[str, bytes], ...], Shop] = {}


@dataclass
class Bench:
    """A shop folder; ``start`` gives it a bridge, as a new process would."""

    folder: Path
    notices: list[tuple[str, dict[str, object]]] = field(default_factory=list)
    clock: Iterator[datetime] = field(
        default_factory=lambda: (NOW + timedelta(seconds=n) for n in itertools.count())
    )

    def __post_init__(self) -> None:
        shutil.copytree(_made_shop(), self.folder)
        settings = self.folder / "shop.yaml"
        settings.write_text(chosen().settings(self.folder) + settings.read_text())

    @property
    def source(self) -> SourcePlaces:
        return ShopPlaces(self.folder).source("hotfolders/mis")

    @property
    def counter(self) -> SourcePlaces:
        return ShopPlaces(self.folder).source("hotfolders/counter")

    @property
    def pdf_drop(self) -> SourcePlaces:
        return ShopPlaces(self.folder).source("hotfolders/pdf-drop")

    def let_wait(self, patience_s: float) -> None:
        """Tickets of the order desk wait so long for their artwork."""
        shop = self.folder / "shop.yaml"
        text = shop.read_text().replace("    watch:", f"    artwork_patience_s: {patience_s}\n    watch:", 1)
        shop.write_text(text)

    def drop_lines(self, name: str, *lines: str) -> None:
        """Order lines of the counter, each with its artwork."""
        for line in lines:
            (self.counter.drop / f"{line.partition(';')[0]}.pdf").write_bytes(artwork(BANNER))
        (self.counter.drop / name).write_text("\n".join([COUNTER_HEADINGS, *lines]))

    def lane(self, device_id: str) -> LanePlaces:
        return ShopPlaces(self.folder).lane(f"lanes/{device_id}")

    def start(self) -> Bridge:
        return Bridge(
            shop=_shop_in(self.folder),
            store=chosen().open(self.folder),
            places=ShopPlaces(self.folder),
            now=lambda: next(self.clock),
            disk=ThreadPoolExecutor(1),
            agent_version="test",
            notice=lambda event, **facts: self.notices.append((event, facts)),
        )

    def restart(self) -> Bridge:
        bridge = self.start()
        rescue(bridge, crashed=True)
        return bridge

    def drop(self, order: DemoOrder, change: Callable[[bytes], bytes] = lambda data: data) -> str:
        if order.raw is None:
            (self.source.drop / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
        (self.source.drop / order.file_name).write_bytes(change(ticket(order)))
        return order.file_name

    def drop_several(self, job_id: str, parts: Mapping[str, DemoOrder], name: str = "several.jdf") -> str:
        """One ticket with an item for each of these orders, under their JobPartIDs."""
        for order in parts.values():
            (self.source.drop / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
        (self.source.drop / name).write_bytes(several(job_id, parts))
        return name

    def set_shop(self, old: str, new: str) -> None:
        """Change a text in the shop's settings, once."""
        self.change("shop.yaml", old, new)

    def change(self, name: str, old: str, new: str) -> None:
        """Change a text in a file of the shop, once."""
        file = self.folder / name
        text = file.read_text()
        assert old in text
        file.write_text(text.replace(old, new, 1))

    def claim(self, name: str, *, whole: bool = True, at: str = "mis") -> Claimed:
        places = ShopPlaces(self.folder).source(f"hotfolders/{at}")
        claimed = Claimer(at, places).claim(name, next(self.clock), whole=whole)
        assert claimed is not None
        return claimed

    def files(self, folder: Path) -> list[str]:
        """Visible names, without our own prefix."""
        names = (path.name for path in folder.iterdir() if not path.name.startswith("."))
        return sorted(name.partition("~")[2] or name for name in names)

    def signals(self, bridge: Bridge, of: str = "mis") -> list[str]:
        """Everything in the outbox of a source's status folder, as short words."""
        with bridge.store.transaction() as tx:
            bodies = [message.body for message in tx.unsent(f"{of}.folder", 0, 1000)]
        return [word for body in bodies for word in words(body)]

    def press_says(self, bridge: Bridge, device_id: str, name: str, data: bytes) -> None:
        folder = self.lane(device_id).returned if name.endswith(".jdf") else self.lane(device_id).status
        (folder / name).write_bytes(data)
        follow(bridge, PressFile(device_id, folder / name, data, lambda _: None))


def several(job_id: str, parts: Mapping[str, DemoOrder]) -> bytes:
    """An order of several items: a Product node with a Product node for each."""
    root = jdf_root(
        "JDF", xsi_type="Product", ID="n0", JobID=job_id, Type="Product", Status="Waiting", Version="1.5",
        MaxVersion="1.7",
    )  # fmt: skip
    child(child(root, "AuditPool"), "Created", ID="a0", AgentName="desk", TimeStamp=moment(NOW))
    for part, order in parts.items():
        node = etree.fromstring(ticket(order))
        for element in node.iter():
            for attribute in ("ID", "rRef"):
                if element.get(attribute):
                    element.set(attribute, f"p{part}.{element.get(attribute)}")
        for attribute in ("JobID", "Version", "MaxVersion"):
            node.attrib.pop(attribute, None)
        node.set("JobPartID", part)
        root.append(node)
    return as_bytes(root)


def words(body: bytes) -> list[str]:
    """A JMF document in short words: type, then what it says first."""
    found = []
    for message in etree.fromstring(body):
        kind = message.get("Type", "")
        phase, entry = message.find(f".//{jdf('JobPhase')}"), message.find(f".//{jdf('QueueEntry')}")
        event, error = message.find(f".//{jdf('Event')}"), message.find(f".//{jdf('Error')}")
        if phase is not None:
            kind += f" {phase.get('Status')} {phase.get('Amount')}/{phase.get('TotalAmount')}"
        elif entry is not None:
            entries = [f"{e.get('QueueEntryID')}:{e.get('Status')}" for e in message.iter(jdf("QueueEntry"))]
            kind += " " + " ".join(entries)
        elif event is not None:
            kind += f" {event.get('EventID')}"
        elif error is not None:
            kind += f" {error.get('ErrorID')} {error.get('ReturnCode')}"
        found.append(kind)
    return found


def status_jmf(
    device_id: str, job: tuple[str, str], status: str, amount: int, total: int, message_id: str
) -> bytes:
    """A press's Status signal."""
    root = jdf_root("JMF", SenderID="press", TimeStamp=moment(NOW), Version="1.7")
    signal = child(root, "Signal", xsi_type="SignalStatus", ID=message_id, Type="Status")
    info = child(signal, "DeviceInfo", DeviceID=device_id, DeviceStatus="Running")
    child(
        info,
        "JobPhase",
        JobID=job[0],
        JobPartID=job[1],
        Status=status,
        Amount=str(amount),
        TotalAmount=str(total),
    )
    return as_bytes(root)


def press_returns(lane_ticket: bytes, status: str = "Completed") -> bytes:
    """The lane's ticket as a press gives it back."""
    root = etree.fromstring(lane_ticket)
    root.set("Status", status)
    return as_bytes(root)
