"""The demo's folder: a shop, tickets that wait to be dropped, and what the MIS received. Made once, whole or not."""

import shutil
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.demo.orders import ORDERS, artwork, ticket
from ticketbridge.spool import durable
from ticketbridge.spool.places import ShopPlaces, SourcePlaces

SOURCE = "mis"


@dataclass(frozen=True, slots=True)
class House:
    """Where everything of the demo lies."""

    folder: Path

    @property
    def shop(self) -> Path:
        """The shop folder."""
        return self.folder / "shop"

    @property
    def to_drop(self) -> Path:
        """Tickets that the MIS will drop; each leaves by one rename, so a killed demo drops none twice."""
        return self.folder / "mis-to-drop"

    @property
    def received(self) -> Path:
        """JMF that the MIS received by HTTP."""
        return self.folder / "mis-received"

    @property
    def source(self) -> SourcePlaces:
        """The hot folders of the order desk."""
        return ShopPlaces(self.shop).source("hotfolders/mis")

    def press(self, press_id: str) -> Path:
        """The folder of a simulated press."""
        return self.shop / "simulated-press" / press_id

    @property
    def presses(self) -> tuple[str, ...]:
        """The simulated presses."""
        return ("P1", "P2")


def prepare(folder: Path, status_url: str) -> House:
    """The demo's house, made where it is not there yet; its shop posts JMF to that address."""
    folder.mkdir(parents=True, exist_ok=True)
    house = House(folder / "harbourlight")
    if not house.folder.exists():
        unfinished = House(folder / ".unfinished")
        shutil.rmtree(unfinished.folder, ignore_errors=True)
        _build(unfinished)
        durable.move(unfinished.folder, house.folder)
    _set_status_url(house.shop / "shop.yaml", status_url)
    return house


def _build(house: House) -> None:
    copy_sample_shop(house.shop)
    make_folders(load_shop(house.shop))
    shop_file = house.shop / "shop.yaml"
    text = shop_file.read_text(encoding="utf-8")
    for slow, quick in (
        ("patience_s: 30", "patience_s: 2"),
        ("scan_s: 5", "scan_s: 1"),
        ("quiet_s: 2", "quiet_s: 0.5"),
    ):
        if slow not in text:
            raise AssertionError(f"the sample shop no longer says {slow}")
        text = text.replace(slow, quick)
    shop_file.write_text(text, encoding="utf-8")
    house.to_drop.mkdir()
    house.received.mkdir()
    art = house.source.drop / "art"
    art.mkdir()
    for order in ORDERS:
        if order.raw is None:
            (art / f"{order.job_id}.pdf").write_bytes(artwork(order))
        (house.to_drop / order.file_name).write_bytes(ticket(order))


def _set_status_url(shop_file: Path, status_url: str) -> None:
    lines = [
        line
        for line in shop_file.read_text(encoding="utf-8").splitlines()
        if not line.startswith("    status_url:")
    ]
    place = lines.index("    mapping: mis")
    lines.insert(place + 1, f"    status_url: {status_url}")
    durable.show_new(shop_file, ("\n".join(lines) + "\n").encode())
